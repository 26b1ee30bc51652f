// The numbers on the screen are the API's on every worked example, too. The page asks its own question, of one set-up; on its way the example is
// put in its place, and what comes back is shown.
import { readFileSync } from 'node:fs'
import { alone, api, at, holds, opened, refusedAs, same } from './browser.mjs'
import { plain, wanted } from './numbers.mjs'

/** examples are the questions for a set-up that are JSON at all, by name. */
function examples() {
  const text = readFileSync(new URL('../../../geometry/worked/examples.txt', import.meta.url), 'utf8')
  return text.split(/^example /m).slice(1).flatMap((block) => {
    const asked = /^solveSetup (\{.*\})$/m.exec(block)
    try {
      return asked ? [{ name: block.split('\n')[0], ask: JSON.parse(asked[1]) }] : []
    } catch {
      return [] // what is no JSON cannot be asked from a page
    }
  })
}

export default async function worked() {
  let solved = 0, refused = 0
  await opened({}, async (page) => {
    let example
    await page.route('**/*:solveSetup', (route) => {
      const own = route.request().postDataJSON()
      return route.continue({ postData: JSON.stringify({ wording: own.wording, ...example.ask, include: own.include }) })
    })
    for (example of examples()) {
      const { wording, ...ask } = { wording: { languageCode: 'en', lengthUnit: 'LENGTH_UNIT_MM' }, ...example.ask }
      const answer = await api(':solveSetup', { ...ask, wording, include: [] })
      await page.goto('about:blank')
      await at(page, '#/set-up/north/whole?recipe=bowl-50')
      if (answer.status !== 200) {
        refusedAs(await page.locator('.refusal p').first().innerText(), answer.message, `${example.name}: the refusal`)
        refused++
        continue
      }
      const seen = (await page.locator('.numbers dd').allInnerTexts()).map(plain).filter(Boolean)
      same(seen.join(' | '), wanted(answer.setup).map(plain).join(' | '), example.name)
      for (const step of answer.setup.steps) {
        const said = `${step.predicted.edgeAngleDeg.toFixed(1)}° ± ${step.predicted.expandedUncertaintyDeg.toFixed(1)}°`
        holds((await page.locator('.numbers .grinds').allInnerTexts()).some((t) => t.includes(said)), `${example.name}: ${said} is not said`)
      }
      solved++
    }
  })
  console.log(`    ${solved} examples, ${refused} refusals`)
  holds(solved >= 20 && refused >= 10, 'too few examples were solved to show anything')
}

await alone(import.meta.url, worked)
