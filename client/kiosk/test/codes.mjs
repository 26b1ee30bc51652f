// What a scanner reads leads to the right screen: ids, names, addresses of this page, other systems' names, labels and sheets. The methods that
// read codes on paper are answered for here, as the schema has them, so that a server without them is tested with.
import { address, alone, at, holds, opened, same, settled, shop } from './browser.mjs'

export const sheet = 'shop=main&recipe=bowl-50/1&station=north&wheel=north-fine&tool=bowl-gouge-12&diameter_mm=200&as_of_time=2026-11-01T00:00:00Z'

const leads = [
  ['bowl-gouge-12', '#/tool/bowl-gouge-12'], ['  BOWL-gouge-12 ', '#/tool/bowl-gouge-12'], ['shops/main/tools/skew-25', '#/tool/skew-25'],
  [`${address}/kiosk/#/station/west`, '#/station/west'], ['https://elsewhere.example/v1/shops/main/recipes/bowl-40', '#/recipe/bowl-40'],
  ['inventory:T-77', '#/tool/scraper-25'], ['T-77', '#/tool/scraper-25'], ['north', '#/station/north'], ['bowl-50', '#/recipe/bowl-50'],
  ['https://elsewhere.example/l?shop=main&code=T.SKEW-25.X', '#/tool/skew-25'], ['W.NORTH-FINE.K', '#/wheel/north-fine'],
  [`https://elsewhere.example/s?${sheet}`, `#/sheet?${sheet}`],
]

export default async function codes() {
  const labelled = await fetch(`${shop}/tools/scraper-25`, {
    method: 'PATCH', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ externalIds: [{ system: 'inventory', value: 'T-77' }] }),
  })
  holds(labelled.ok, 'the tool could not be labelled')
  await opened({}, async (page) => {
    const asked = []
    await page.route(/:(resolveCode|checkSheet)\?/, (route) => {
      const url = new URL(route.request().url()), code = url.searchParams.get('code') ?? ''
      asked.push(url)
      if (url.pathname.endsWith(':checkSheet')) return route.fulfill({ json: checked })
      const found = { 'T.SKEW-25.X': ['TOOL', 'tools/skew-25'], 'W.NORTH-FINE.K': ['WHEEL', 'wheels/north-fine'] }[code]
      if (!found) return route.fulfill({ status: 400, json: { code: 3, message: `code: nothing is called ${code}` } })
      return route.fulfill({ json: { kind: `CODE_KIND_${found[0]}`, name: `shops/main/${found[1]}`, displayName: '', shortId: code } })
    })
    for (const [code, hash] of leads) {
      await at(page, '#/')
      await page.locator('#code').fill(code)
      await page.keyboard.press('Enter')
      await page.waitForFunction((h) => location.hash === h, hash).catch(() => {})
      await settled(page)
      same(await page.evaluate(() => location.hash), hash, `after ${code}`)
    }
    await page.getByRole('heading', { name: 'Do not set by this sheet any more' }).waitFor()
    await page.getByText('the edge would come out 1.2° blunter').waitFor()
    const query = asked.at(-1).searchParams
    same(asked.at(-1).pathname, '/v1/shops/main:checkSheet', 'who was asked about the sheet')
    same([query.get('recipe'), query.get('diameter_mm'), query.get('shop')].join(' '), 'bowl-50/1 200 ', 'what was asked')
    await page.getByRole('link', { name: 'Set it up as things are now' }).click()
    await page.getByText('The wheel first').waitFor()

    // As the gateway redirects: without a slash behind the #.
    await at(page, `#sheet?${sheet}`)
    await page.getByRole('heading', { name: 'Do not set by this sheet any more' }).waitFor()

    // Why a code is none is said in the API's words.
    await at(page, '#/')
    await page.locator('#code').fill('T.SKEW-25.Y')
    await page.keyboard.press('Enter')
    await page.getByText('Code: nothing is called T.SKEW-25.Y.').waitFor()

    await at(page, '#/')
    await page.locator('#code').fill('no such thing at all')
    await page.keyboard.press('Enter')
    await page.getByText('Nothing here is called “no such thing at all”.').waitFor()
  })
}

export const checked = {
  superseded: true, text: 'the wheel was measured since', offDeg: 1.2, settings: [],
  changes: [{ kind: 'SHEET_CHANGE_KIND_WHEEL_MEASURED', name: 'shops/main/wheels/north-fine', supersedes: true, text: 'north-fine is ⌀198.0 mm now' }],
}

await alone(import.meta.url, codes)
