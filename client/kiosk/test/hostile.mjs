// What comes from elsewhere may be anything: markup in names, huge texts, missing fields, wrong types, a server that stalls, lies or is gone. The
// page never runs it, never breaks, and says what is wrong in a banner that never blocks.
import { address, alone, at, holds, opened, same, settled } from './browser.mjs'
import { answers as keptAnswers, until } from './offline.mjs'

const markup = '<img src=x onerror="window.hurt=1"><script>window.hurt=1</script>${window.hurt=1}'
const huge = 'W'.repeat(200_000)
const bowl = 'tool=bowl-gouge-12'
const routes = ['#/', '#/tool/bowl-gouge-12', '#/station/north', '#/wheel/south-white', `#/set-up/north/wheel?${bowl}`, `#/set-up/north/1?${bowl}`, `#/set-up/north/3?${bowl}`,
  `#/set-up/north/whole?${bowl}`, `#/set-up/north/what-if?${bowl}`, `#/set-up/north/prove?${bowl}`, `#/set-up/north/log?${bowl}`, `#/set-up/north/stands?${bowl}&step=0`, '#/options',
  '#/care', '#/log', '#/wear/south-white', '#/inspect/wheels/south-white']

/** lies are what a server might say in place of each value of an answer. */
const lies = {
  'markup in every text': (v) => (typeof v === 'string' && !/^(shops\/|[A-Z_]+$|\d{4}-)/.test(v) ? markup : v),
  'huge texts': (v) => (typeof v === 'string' && !/^(shops\/|[A-Z_]+$|\d{4}-)/.test(v) ? huge.slice(0, 20_000) : v),
  'no texts': (v) => (typeof v === 'string' ? '' : v),
  'no numbers': (v) => (typeof v === 'number' ? null : v),
  'texts for numbers': (v) => (typeof v === 'number' ? 'Infinity' : v),
  'numbers for texts': (v) => (typeof v === 'string' ? 7 : v),
  'minute numbers': (v) => (typeof v === 'number' ? v * 1e-300 : v),
  'enormous numbers': (v) => (typeof v === 'number' ? v * 1e300 : v),
  'lists for records': (v) => (v && typeof v === 'object' && !Array.isArray(v) ? [v] : v),
  'records for lists': (v) => (Array.isArray(v) ? { ...v } : v),
  'nothing in records': (v) => (v && typeof v === 'object' && !Array.isArray(v) ? {} : v),
  'null in lists': (v) => (Array.isArray(v) ? [null, 3, 'x', ...v, null] : v),
  'templates of a library': (v) => (typeof v === 'string' ? { _$litType$: 1, strings: ['<b>', '</b>'], values: [v] } : v),
}

const lied = (value, lie) => {
  if (Array.isArray(value)) return lie(value.map((v) => lied(v, lie)))
  if (value && typeof value === 'object') return lie(Object.fromEntries(Object.entries(value).map(([k, v]) => [k, lied(v, lie)])))
  return lie(value)
}

export default async function hostile() {
  for (const [name, lie] of Object.entries(lies)) {
    await opened({}, async (page) => {
      await page.route(/\/v1\//, async (route) => {
        const answer = await route.fetch()
        const value = await answer.json().catch(() => null)
        await route.fulfill({ status: answer.status(), contentType: 'application/json', body: JSON.stringify(lied(value, lie)) })
      })
      for (const screen of routes) await stands(page, screen, name)
    })
  }
  for (const [name, fulfil] of Object.entries(answers)) {
    await opened({}, async (page, complaints) => {
      await page.route(/\/v1\//, fulfil)
      for (const screen of routes.slice(0, 8)) await stands(page, screen, name)
      complaints.splice(0, complaints.length, ...complaints.filter((c) => !/net::ERR/.test(c)))
    })
  }
  await comesBack()
  await stalls()
}

/** answers are whole answers that are none. */
const answers = {
  'no JSON': (route) => route.fulfill({ status: 200, contentType: 'application/json', body: '<html>{' }),
  'an empty answer': (route) => route.fulfill({ status: 200, body: '' }),
  'a bare text': (route) => route.fulfill({ status: 200, contentType: 'application/json', body: '"yes"' }),
  'null': (route) => route.fulfill({ status: 200, contentType: 'application/json', body: 'null' }),
  'an error without words': (route) => route.fulfill({ status: 500, body: '' }),
  'an error with markup': (route) => route.fulfill({ status: 400, contentType: 'application/json', body: JSON.stringify({ code: 9, message: markup, details: [null, 3, { ways: [{ text: markup }, null] }] }) }),
  'nobody there': (route) => route.abort('connectionrefused'),
}

/** stands tells whether the page is whole on a screen: its frame is there, says something, runs nothing, and can be left. */
async function stands(page, screen, what) {
  await page.goto(`${address}/kiosk/${screen}`)
  await page.evaluate((hash) => (location.hash = hash), screen)
  await settled(page)
  const where = `${what} at ${screen}`
  same(await page.evaluate(() => window.hurt), undefined, `${where}: run`)
  const words = await page.locator('main').innerText()
  holds(words.trim().length > 3, `${where}: an empty screen`)
  holds(!/\de[+-]?\d/.test(words), `${where}: a number as a power of ten: ${/.*\de[+-]?\d.*/.exec(words)?.[0]}`)
  holds((await page.locator('main img, main script').count()) === 0, `${where}: markup became elements`)
  holds(await page.getByRole('link', { name: /Options/ }).isVisible(), `${where}: the frame is gone`)
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
  holds(over <= 0, `${where}: ${over} px run out of the screen`)
}

// The network goes in the middle of a set-up and comes back: the numbers stay, the banner says so and blocks nothing.
async function comesBack() {
  await opened({}, async (page, complaints) => {
    await at(page, `#/set-up/north/1?${bowl}`)
    await until(() => keptAnswers(page, (rows) => rows.some(([key]) => key.startsWith('solve'))), 'the answer to be kept')
    // Answers so slow that the kept one was shown meanwhile count for a while; that is no reason not to say later since when it is.
    await page.route(/:solveSetup$/, async (route) => {
      await new Promise((done) => setTimeout(done, 600))
      await route.continue().catch(() => {})
    })
    await at(page, `#/set-up/north/2?${bowl}`)
    await at(page, `#/set-up/north/1?${bowl}`)
    await page.locator('.as-of').waitFor({ state: 'detached' })
    await page.unroute(/:solveSetup$/)
    await page.context().setOffline(true)
    await page.locator('.as-of').waitFor()
    await page.getByRole('link', { name: 'Next' }).click()
    await settled(page)
    same(await page.locator('h1').innerText(), 'Leg angle', 'the next step without a network')
    holds(/30\.0/.test(await page.locator('.number').innerText()), 'no number without a network')
    await page.context().setOffline(false)
    await page.locator('.as-of').waitFor({ state: 'detached' })
    complaints.splice(0, complaints.length, ...complaints.filter((c) => !/net::ERR/.test(c)))
  })
}

// A server that never answers: the page does not wait for it, and an entry sent again is kept once.
async function stalls() {
  await opened({}, async (page) => {
    await at(page, `#/set-up/north/log?${bowl}`)
    const ids = []
    await page.route(/\/sharpenings\?requestId=/, async (route) => {
      ids.push(new URL(route.request().url()).searchParams.get('requestId'))
      if (ids.length > 1) return route.continue()
      await route.fetch() // it was kept, and nobody hears of it
      await new Promise((done) => setTimeout(done, 9000))
      await route.abort().catch(() => {})
    })
    await page.getByRole('button', { name: /Hone/ }).click()
    await page.getByText('Kept on this device').waitFor()
    await page.getByText('Entries to be sent: 1').waitFor()
    await page.getByText('Logged.').waitFor({ timeout: 30_000 })
    same(ids.length, 2, 'times sent')
    same(ids[0], ids[1], 'request ids')
  })
}

await alone(import.meta.url, hostile)
