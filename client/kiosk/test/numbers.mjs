// The numbers on the screen are the API's, for every stored recipe on every station, in both units: on each step, and on the whole. What is
// refused is refused in the API's words.
import { alone, api, at, holds, opened, refusedAs, same, settled } from './browser.mjs'

const camel = (name) => name.replace(/_(.)/g, (_, c) => c.toUpperCase())
const minus = (text) => text.replace(/^-/, '−')
const idOf = (name) => name.split('/').pop()

/** wanted are the texts to set, in order: stick-out, leg and the support's own datum, each only where it changes; on another machine all. */
export function wanted(setup) {
  let before = [], there = ''
  return setup.steps.flatMap((step) => {
    const now = [step.stickOut?.text, step.legAngle?.text, step.support[camel(step.support.setBy)].text]
    const where = JSON.stringify(step.basis ?? null)
    if (where !== there) before = []
    there = where
    const changed = now.filter((text, i) => text !== undefined && text !== before[i])
    before = now
    return changed.map(minus)
  })
}

export const plain = (text) => text.replace(/\s+/g, ' ').trim()

export default async function numbers() {
  const { recipes } = await api('/recipes?pageSize=1000')
  const { stations } = await api('/stations?pageSize=1000')
  holds(recipes.length >= 12 && stations.length >= 3, 'this is not the demonstration shop')
  const { tools } = await api('/tools?pageSize=1000')
  const jobs = [...recipes.map((r) => ({ query: `recipe=${idOf(r.name)}`, ask: { recipe: r.name } })), ...tools.map((its) => ({ query: `tool=${idOf(its.name)}`, tool: its.name }))]
  let solved = 0, refused = 0
  for (const unit of ['MM', 'INCH']) {
    await opened({}, async (page) => {
      await at(page, '#/')
      await page.getByRole('button', { name: unit === 'MM' ? 'mm' : 'inch' }).click()
      for (const { query, ask, tool } of jobs) {
        for (const station of stations) {
          const what = `${query} on ${idOf(station.name)} in ${unit}`
          const rig = { station: station.name, ...(tool ? { tool } : {}) }
          const answer = await api(':solveSetup', { ...ask, rig, wording: { lengthUnit: `LENGTH_UNIT_${unit}` } })
          await at(page, `#/set-up/${idOf(station.name)}/whole?${query}`)
          if (answer.status !== 200) {
            refusedAs(await page.locator('.refusal p').first().innerText(), answer.message, `${what}: the refusal`)
            refused++
            continue
          }
          const texts = wanted(answer.setup)
          const seen = (await page.locator('.numbers dd').allInnerTexts()).map(plain).filter(Boolean)
          same(seen.join(' | '), texts.join(' | '), what)
          for (const step of answer.setup.steps) {
            const said = `${step.predicted.edgeAngleDeg.toFixed(1)}° ± ${step.predicted.expandedUncertaintyDeg.toFixed(1)}°`
            holds((await page.locator('.numbers .grinds').allInnerTexts()).some((t) => t.includes(said)), `${what}: ${said} is not said`)
          }
          if (unit === 'MM' || station === stations[0]) await eachStep(page, what, texts)
          solved++
        }
      }
    })
  }
  console.log(`    ${solved} set-ups, ${refused} refusals`)
  holds(solved >= 80 && refused > 0, 'too few set-ups were solved to show anything')
}

async function eachStep(page, what, texts) {
  const seen = []
  const route = page.url().replace('/whole?', '/1?')
  await page.goto(route)
  for (let n = 0; n < 40; n++) {
    await settled(page)
    const number = page.locator('.step .number')
    if (await number.count()) {
      seen.push(await number.evaluate((e) => [...e.children].map((c) => c.textContent).join('|')))
      holds(await number.evaluate((e) => e.scrollWidth <= e.parentElement.clientWidth + 1), `${what}: ${seen.at(-1)} is wider than its room`)
    }
    await page.getByRole('link', { name: 'Next' }).click()
    await settled(page)
    if (new URL(page.url()).hash.includes('/whole')) break
  }
  same(seen.length, texts.length, `${what}: steps with a number`)
  seen.forEach((s, i) => {
    const [figures, unit = ''] = s.split('|').map((t) => t.trim())
    // "position 3 (30.0°)" is shown as 3 and 30.0°
    const position = /^position (\S+) \((.*)\)$/.exec(texts[i])
    same(`${figures}${unit === '°' || unit === '' || position ? '' : ' '}${unit}`, position ? position[1] + position[2] : texts[i], `${what}: step ${i + 1}`)
  })
}

await alone(import.meta.url, numbers)
