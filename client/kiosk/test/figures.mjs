// Letters in the drawings stand free and can be read: measured by the browser where it put them, on every tool's set-up on every station, with all
// dimensions and with one lit, on a tablet and a phone, in three languages, and say what the API says, in inches too. ARRIS_FIGURES picks by station and tool: "west bottom".
import { alone, api, at, holds, opened, phone, settled, tablet } from './browser.mjs'

const least = 14 // px, of letters

const modes = [
  [{ language: 'en' }, tablet, ['whole']], [{ language: 'de' }, phone, ['1', 'whole']], [{ language: 'es' }, { width: 844, height: 390 }, ['whole']],
  [{ language: 'en', inch: true }, phone, ['whole']],
]

export default async function figures() {
  const { tools } = await api('/tools?pageSize=100'), { stations } = await api('/stations')
  const id = (name) => name.split('/').at(-1)
  const jobs = tools.filter((t) => t.recipe).flatMap((t) => stations.map((s) => [id(s.name), id(t.name)])).filter((job) => job.join(' ').includes(process.env.ARRIS_FIGURES ?? ''))
  const found = []
  let drawn = 0
  for (const [prefs, viewport, screens] of modes) {
    await opened({ viewport }, async (page) => {
      const said = new Set() // every text that the API sent
      page.on('response', (r) => r.json().then((answer) => texts(answer, said), () => undefined))
      await at(page, '#/')
      await page.evaluate((prefs) => localStorage.setItem('arris.prefs', JSON.stringify(prefs)), prefs)
      await page.reload()
      for (const [station, tool] of jobs) {
        for (const screen of screens) {
          await at(page, `#/set-up/${station}/${screen}?tool=${tool}`)
          if ((await page.locator('k-figure').count()) === 0) continue // no set-up there, or not so many steps
          await page.locator('svg.figure').waitFor()
          await settled(page)
          drawn++
          const where = `${tool} on ${station}, ${screen} (${Object.values(prefs)}, ${viewport.width}×${viewport.height})`
          found.push(...(await page.evaluate(measure, least)).map((m) => `${where}: ${m}`))
          const letters = await page.locator('svg.figure .letters text').allTextContents()
          found.push(...letters.filter((l) => !said.has(bare(l))).map((l) => `${where}: the API says nothing such as ${l}`))
        }
      }
    })
  }
  holds(found.length === 0, `${found.length} findings in ${drawn} drawings:\n  ${found.slice(0, 40).join('\n  ')}`)
  holds(drawn > 3 * jobs.length, `only ${drawn} drawings of ${jobs.length} set-ups`)
  console.log(`    ${drawn} drawings`)
}

// A label may have two lines; the page writes a minus where the API writes a hyphen.
const bare = (words) => words.replace(/\s/g, '').replace(/−/g, '-')

function texts(value, to) {
  for (const v of Object.values(value ?? {})) typeof v === 'string' ? to.add(bare(v)) : typeof v === 'object' && texts(v, to)
}

// measure runs in the page.
function measure(least) {
  const found = [], svg = document.querySelector('svg.figure'), room = svg.getBoundingClientRect()
  const letters = [...svg.querySelectorAll('.letters text')]
  const toScreen = svg.getScreenCTM()
  const boxOf = (e) => {
    const { x, y, width, height } = e.getBoundingClientRect(), thin = parseFloat(e.getAttribute('font-size')) * toScreen.a / 5 // what a line of text keeps above and below its letters
    return { left: x, right: x + width, top: y + thin, bottom: y + height - thin }
  }
  const boxes = letters.map(boxOf)
  const meet = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
  const holds = (b, p) => p.x > b.left && p.x < b.right && p.y > b.top && p.y < b.bottom
  letters.forEach((text, i) => {
    const words = text.textContent, box = boxes[i], size = parseFloat(text.getAttribute('font-size')) * toScreen.a
    if (size < least) found.push(`letters of ${size.toFixed(1)} px: ${words}`)
    if (box.left < room.left - 1 || box.right > room.right + 1 || box.top < room.top - 1 || box.bottom > room.bottom + 1) found.push(`cut off: ${words}`)
    boxes.forEach((other, n) => n > i && meet(box, other) && found.push(`${words} covers ${letters[n].textContent}`))
  })
  for (const path of svg.querySelectorAll('path:not(.construction)')) {
    const long = path.getTotalLength(), steps = Math.ceil((long * toScreen.a) / 2)
    const hit = new Set()
    for (let i = 0; i <= steps; i++) {
      const p = path.getPointAtLength((long * i) / steps).matrixTransform(toScreen)
      boxes.forEach((b, n) => holds(b, p) && hit.add(n))
    }
    for (const n of hit) found.push(`${letters[n].textContent} lies over a line (${path.getAttribute('class')})`)
  }
  if (letters.length === 0) found.push('no letters')
  return found
}

await alone(import.meta.url, figures)
