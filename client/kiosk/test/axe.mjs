// axe finds nothing on any screen, light and dark, in all languages and with large letters; every target is 44 px or more; nothing runs out of
// the screen sideways.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { alone, api, at, flags, holds, opened, phone, same, settled, tablet } from './browser.mjs'
import * as paper from './paper.mjs'

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const least = 44 // px

const bowl = 'tool=bowl-gouge-12'
export const screens = {
  find: '#/', search: '#/', unknown: '#/', scanner: '#/', 'no camera': '#/', where: '#/tool/bowl-gouge-12', 'where, refused': '#/tool/detail-gouge-6', recipe: '#/recipe/skew-36',
  waiting: '#/waiting', station: '#/station/north', locking: '#/station/north', wheel: '#/wheel/south-white', options: '#/options', first: `#/set-up/north/wheel?${bowl}`,
  length: `#/set-up/north/1?${bowl}`, angle: `#/set-up/north/2?${bowl}`, last: `#/set-up/north/3?${bowl}`, turned: '#/set-up/north/2?tool=skew-25',
  care: '#/care', wear: '#/wear/south-white', entries: '#/log', inspect: '#/inspect/stations/north', inspected: '#/inspect/stations/south',
  'several bevels': '#/set-up/north/3?recipe=bowl-50-relief', whole: `#/set-up/north/whole?${bowl}`, 'whole, of three': '#/set-up/north/whole?tool=hollowing-gouge-10',
  warned: '#/set-up/west/whole?tool=roughing-gouge-32', 'what if': `#/set-up/north/what-if?${bowl}`, ink: `#/set-up/north/prove?${bowl}`, inked: `#/set-up/north/prove?${bowl}`,
  protractor: `#/set-up/north/prove?${bowl}`, log: `#/set-up/north/log?${bowl}`, stands: `#/set-up/north/stands?${bowl}&step=0`, refused: '#/set-up/west/wheel?tool=detail-gouge-6', sheet: '#/sheet?',
}

/** what has to be tapped or typed before a screen is as it is meant. */
const first = {
  search: async (page) => { await page.locator('#code').fill('boul gauge'); await page.locator('.tile').first().waitFor() },
  unknown: async (page) => { await page.locator('#code').fill('zzzzqq'); await page.getByText('zzzzqq').waitFor() },
  scanner: async (page) => { await page.locator('.finder button').click(); await page.locator('.scanner [role=status]').filter({ hasNotText: '…' }).waitFor() },
  'no camera': async (page) => {
    await page.evaluate(() => (navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('', 'NotAllowedError'))))
    await page.locator('.finder button').click()
    await page.locator('.scanner [role=alert]').waitFor()
  },
  care: (page) => page.locator('.care-list li').nth(3).waitFor(),
  wear: (page) => page.locator('.plot svg .point').first().waitFor(),
  inspect: (page) => page.locator('.findings .tile').first().waitFor(),
  inspected: (page) => page.locator('.findings .tile').last().click(),
  locking: (page) => page.locator('button.danger').click(),
  inked: (page) => page.locator('.mark').last().click(),
  protractor: (page) => page.locator('main .switch button').last().click(),
}

// Pairwise over modes: each value of each meets each of the others at least once.
const modes = [
  { look: 'light', language: 'en', large: false, view: tablet }, { look: 'dark', language: 'de', large: false, view: phone },
  { look: 'light', language: 'es', large: true, view: phone }, { look: 'dark', language: 'en', large: true, view: { width: 768, height: 1024 } },
  { look: 'light', language: 'de', large: true, view: { width: 844, height: 390 } }, { look: 'dark', language: 'es', large: false, view: tablet },
]

/** Only screens that are named: ARRIS_SCREENS=length,angle while one of them is worked on. */
const wanted = (name) => !process.env.ARRIS_SCREENS || process.env.ARRIS_SCREENS.split(',').includes(name)

/** old is the address of a sheet whose wheel was measured since. */
async function old() {
  const [code] = await paper.read(await paper.sheet('west', 'bowl-gouge-12')), held = new URLSearchParams(code.slice(code.indexOf('?') + 1))
  const { status } = await api(`/wheels/${held.get('wheel')}/measurements`, { diameterMm: Number(held.get('diameter_mm')) - 2 })
  same(status, 200, 'the wheel measured')
  return held
}

// The camera is Chromium's own make-believe, which sees no code.
const args = [...flags, '--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream']

export default async function accessible() {
  const found = [], sheet = await old()
  for (const mode of modes) {
    await opened({ viewport: mode.view, colorScheme: mode.look, bypassCSP: true, args }, async (page) => {
      await at(page, '#/')
      await page.evaluate((m) => localStorage.setItem('arris.prefs', JSON.stringify(m)), { language: mode.language, large: mode.large, inch: mode.large })
      await page.reload()
      for (const [name, route] of Object.entries(screens).filter(([name]) => wanted(name))) {
        await page.evaluate(() => (location.hash = '#/waiting')) // so that each begins anew
        await page.locator('k-waiting').waitFor({ state: 'attached' })
        await at(page, name === 'sheet' ? route + sheet : route)
        await first[name]?.(page)
        await settled(page)
        const where = `${name} (${mode.look}, ${mode.language}${mode.large ? ', large' : ''}, ${mode.view.width}×${mode.view.height})`
        found.push(...(await findings(page)).map((m) => `${where}: ${m}`))
      }
    })
  }
  holds(found.length === 0, `${found.length} findings:\n  ${[...new Set(found)].slice(0, 40).join('\n  ')}`)
  console.log(`    ${Object.keys(screens).filter(wanted).length} screens in ${modes.length} modes`)
}

/** findings are what is wrong with what the page shows now. */
export async function findings(page) {
  if (!(await page.evaluate(() => 'axe' in window))) await page.addScriptTag({ content: axe })
  const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }))
  return [...violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.target).join(', ')}`), ...(await page.evaluate(measure, least))]
}

// measure runs in the page.
function measure(least) {
  const found = []
  for (const e of document.querySelectorAll('a[href], button, input:not([type=checkbox]), textarea, label.tick')) {
    const { width, height } = e.getBoundingClientRect()
    if (width > 0 && (width < least || height < least)) found.push(`a target of ${width.toFixed(0)}×${height.toFixed(0)} px: ${e.outerHTML.slice(0, 120)}`)
  }
  const over = document.documentElement.scrollWidth - innerWidth
  if (over > 0) {
    const widest = [...document.querySelectorAll('body *')].filter((e) => e.getBoundingClientRect().right > innerWidth + 1).at(-1)
    found.push(`${over} px run out of the screen: ${widest?.outerHTML.slice(0, 100)}`)
  }
  for (const e of document.querySelectorAll('.number, .row dd, .entry .digits, button, .tile')) {
    if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0) found.push(`cut off: ${e.textContent.trim().slice(0, 40)} (${e.scrollWidth} > ${e.clientWidth})`)
  }
  return found
}

await alone(import.meta.url, accessible)
