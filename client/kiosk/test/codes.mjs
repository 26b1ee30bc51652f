// What a scanner types leads to the right screen: ids, names, addresses of this page, other systems' names, short ids and labels of every kind that
// has one, and sheets, which grow old. All of it is what the server itself gives and prints.
import { address, alone, api, at, holds, opened, same, settled, shop } from './browser.mjs'
import * as paper from './paper.mjs'

const plain = [
  ['bowl-gouge-12', '#/tool/bowl-gouge-12'], ['  BOWL-gouge-12 ', '#/tool/bowl-gouge-12'], ['shops/main/tools/skew-25', '#/tool/skew-25'],
  [`${address}/kiosk/#/station/west`, '#/station/west'], ['https://elsewhere.example/v1/shops/main/recipes/bowl-40', '#/recipe/bowl-40'],
  ['inventory:T-77', '#/tool/scraper-25'], ['T-77', '#/tool/scraper-25'], ['north', '#/station/north'], ['bowl-50', '#/recipe/bowl-50'],
]
const labelled = { 'tools/skew-25': '#/tool/skew-25', 'stations/south': '#/station/south', 'wheels/north-fine': '#/wheel/north-fine' }

export default async function codes() {
  const named = await fetch(`${shop}/tools/scraper-25`, {
    method: 'PATCH', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ externalIds: [{ system: 'inventory', value: 'T-77' }] }),
  })
  holds(named.ok, 'the tool could not be given another name')
  const leads = [...plain, [await shortId('recipes/bowl-50'), '#/recipe/bowl-50']]
  const names = Object.keys(labelled), labels = await paper.read(...(await Promise.all(names.map(paper.label))))
  for (const [i, name] of names.entries()) leads.push([await shortId(name), labelled[name]], [labels[i], labelled[name]])
  await opened({}, async (page) => {
    for (const [code, hash] of leads) {
      await scan(page, code)
      await page.waitForFunction((h) => location.hash === h, hash).catch(() => {})
      await settled(page)
      same(await page.evaluate(() => location.hash), hash, `after ${code}`)
    }
    await unknown(page)
    await sheets(page)
  })
}

const shortId = async (name) => (await api(`:resolveCode?code=${encodeURIComponent(`shops/main/${name}`)}`)).shortId

async function scan(page, code) {
  await at(page, '#/')
  await page.locator('#code').fill(code)
  await page.keyboard.press('Enter')
}

async function unknown(page) {
  // Something known that has no page is not called unknown.
  await scan(page, await shortId('holders/swing'))
  await page.getByRole('heading', { name: 'Swing holder' }).waitFor()
  await page.getByText('There is no page for this here.').waitFor()

  // Why a code is none is said in the API's words: the last character is not the one that belongs there.
  const right = await shortId('tools/skew-25'), wrong = right.slice(0, -1) + (right.endsWith('A') ? 'B' : 'A')
  const { message } = await api(`:resolveCode?code=${wrong}`)
  await scan(page, wrong)
  await page.locator('main .lead').waitFor()
  const told = await page.locator('main .lead').innerText()
  same(told.toLowerCase(), `${message.toLowerCase()}.`, 'why a code is none')
  holds(message.includes(right.at(-1)), message)

  await scan(page, 'no such thing at all')
  await page.getByText('Nothing here is called “no such thing at all”.').waitFor()

  // Without a connection a short id is read here, and one with a wrong character is none: it could be of another thing.
  await at(page, '#/')
  await page.context().setOffline(true)
  const typed = async (code) => {
    await page.evaluate(() => (location.hash = '#/'))
    await page.locator('#code').fill(code)
    await page.keyboard.press('Enter')
  }
  await typed(wrong)
  await page.getByText(`Nothing here is called “${wrong}”.`).waitFor()
  await typed(right)
  await page.waitForFunction(() => location.hash === '#/tool/skew-25')
  await page.context().setOffline(false)
}

// A sheet holds until its wheel was measured, then says what changed and how far off it is, and leads to the set-up of now.
async function sheets(page) {
  const [code] = await paper.read(await paper.sheet('south', 'bowl-gouge-12')), held = code.slice(code.indexOf('?') + 1)
  holds(/^https:\/\/grinding\.example\.org\/s\?/.test(code), code)
  await scan(page, code)
  await page.getByRole('heading', { name: 'This sheet still holds' }).waitFor()
  same(await page.evaluate(() => location.hash), `#/sheet?${held}`, 'where a sheet leads')
  same(await page.locator('.changes').count(), 0, 'lists of changes of a sheet that holds')

  same((await api('/wheels/south-white/measurements', { diameterMm: 180 })).status, 200, 'the wheel measured')
  const query = new URLSearchParams(held)
  query.delete('shop')
  const now = await api(`:checkSheet?${query}`), german = await api(`:checkSheet?${query}&wording.languageCode=de`)
  holds(now.superseded && Math.abs(now.offDeg) >= 0.05 && now.changes.length > 0, JSON.stringify(now))
  await at(page, `#sheet?${held}`) // as the gateway leads there: without a slash behind the #
  await page.getByRole('heading', { name: 'Do not set by this sheet any more' }).waitFor()
  same(await page.locator('main .lead').innerText(), now.text, 'what became of it')
  same((await page.locator('.changes li').allInnerTexts()).join('|'), now.changes.map((c) => (c.supersedes ? 'It counts: ' : '') + c.text).join('|'), 'what changed')
  const off = `${Math.abs(now.offDeg).toFixed(1)}° ${now.offDeg > 0 ? 'blunter' : 'keener'}`
  await page.getByText(`the edge would come out ${off}`).waitFor()
  await page.getByRole('link', { name: 'Set it up as things are now' }).click()
  await page.getByText('The wheel first').waitFor()
  await page.getByText('180.0').first().waitFor()

  await at(page, '#/options')
  await page.getByRole('button', { name: 'Deutsch' }).click()
  await at(page, `#/sheet?${held}`)
  await page.getByText(german.text).waitFor()
}

await alone(import.meta.url, codes)
