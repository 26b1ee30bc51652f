// A technician's day at the kiosk, from opening to closing, checked against what the server keeps.
import { alone, api, at, becomes, holds, opened, refusedAs, same, settled, shop, tablet } from './browser.mjs'

const bowl = 'tool=bowl-gouge-12'

export default async function day() {
  await labelled('bowl-gouge-12', 'inventory', 'T-014')
  await opened({ viewport: tablet }, async (page) => {
    const tap = async (role, name) => {
      await page.getByRole(role, { name, exact: typeof name === 'string' }).first().click()
      await settled(page)
    }
    const reads = (text) => page.getByText(text).first().waitFor()

    // 09:40: three stations, their state in words.
    await at(page, '#/')
    same(await page.locator('.tile[href^="#/station/"] .state').count(), 3 + 1, 'states of the stations, and one overdue inspection')
    same(await page.getByText('In service').count(), 3, 'stations in service')

    // 09:50: south by a paper strip: 588.7 around is 187.4 across.
    await tap('link', /South/)
    await tap('link', 'Measure the wheel')
    await tap('button', 'Strip around the rim')
    for (const key of '588.7') await tap('button', key === '.' ? 'Decimal point' : key)
    await tap('button', 'Keep this')
    await reads(/⌀ 187\.4 mm, measured/)
    const measured = async () => (await api('/wheels/south-white/measurements?orderBy=occur_time%20desc&pageSize=1000')).wheelMeasurements
    await becomes(async () => (await measured())[0].aroundMm, 588.7, 'the strip in the log')
    const kept = (await measured()).length

    // A diameter that cannot be is asked about, and is not kept.
    await at(page, '#/wheel/south-white')
    for (const key of '874') await tap('button', key)
    await tap('button', 'Keep this')
    await reads(/more than this wheel had/)
    await tap('button', 'Measure again')
    // So is a diameter that was typed for a length around.
    await tap('button', 'Strip around the rim')
    for (const key of '187') await tap('button', key)
    await tap('button', 'Keep this')
    await reads('⌀ 59.5 mm?')
    await reads(/below the smallest diameter/)
    await tap('button', 'Measure again')
    same((await measured()).length, kept, 'measurements after wrong ones')

    // 10:15: a hand scanner types and ends with Enter. From the scan to the first number: at most three taps.
    await at(page, '#/')
    await page.locator('#code').fill('T-014')
    await page.keyboard.press('Enter')
    await page.waitForURL(/#\/tool\/bowl-gouge-12/)
    await settled(page)
    await tap('link', /North/) // one
    await reads('The wheel first')
    await reads(/measured \d+ days ago/)
    await tap('link', 'It is right') // two
    same(await page.locator('.number').innerText().then(flat), '45.0 mm', 'stick-out')
    await swipe(page, -200)
    same(await page.locator('.number').innerText().then(flat), '30.0°', 'leg')
    await page.keyboard.press('ArrowRight')
    await settled(page)
    same(await page.locator('.number').innerText().then(flat), '108.5 mm', 'wheel gap')
    same(await page.locator('.letters.lit text').textContent(), 'wheel gap 108.5 mm', 'the lit dimension')
    await reads('to the middle of the ball') // this pocket has no gauged surface of its own: the near side would be half a ball off

    // Which way, how many turns: told from where it stands.
    await tap('link', 'Which way, how many turns?')
    for (const key of '106.5') await tap('button', key === '.' ? 'Decimal point' : key)
    await tap('button', 'It stands there')
    const told = await api(':solveSetup', { rig: rig(), now: { wheelGapMm: 106.5 } })
    same(await page.locator('.move').innerText(), told.setup.steps[0].support.move.text, 'the move')
    await reads(/counted from 106\.5 mm, noted here/)
    // In the other unit, where it stood is said in that one.
    await tap('button', 'inch')
    await reads(/counted from 4\.193 in, noted here/)
    same(await page.getByText(/106\.5/).count(), 0, 'millimetres among inches')
    await tap('button', 'mm')
    await reads(/counted from 106\.5 mm, noted here/)
    await tap('link', 'Next')
    await reads('Whole set-up')
    await reads(/Never dress a superabrasive wheel/)

    // Ink went at the heel: from the test to the move in two taps.
    await tap('link', 'Prove it')
    await tap('button', 'At the heel')
    const settings = { stickOutMm: 45, legAngleDeg: 30, wheelGapMm: 108.5 }
    const ink = await api(':matchGrind', { rig: { ...rig(), holder: 'shops/main/holders/swing', support: 'pocket' }, ink: { trials: [{ settings, where: 'INK_MARK_HEEL' }] } })
    same(await page.locator('.result .move').innerText(), ink.next.support.move.text, 'the corrective move')
    await tap('button', 'At the edge')
    await reads('Tries so far: 2')

    // A protractor shows 50 where 52.9 was promised: keener, so the correction goes outwards.
    await tap('button', 'Protractor')
    for (const key of '50') await tap('button', key)
    await tap('button', 'It shows that')
    await reads(/Edge angle 47\.\d° ± /)
    holds(/out|in/.test(await page.locator('.result .move').innerText()), 'no correction is told')

    // Logged in two taps, and undone as a correction.
    const before = (await api('/sharpenings?pageSize=1000')).sharpenings.length
    await at(page, `#/set-up/north/whole?${bowl}`)
    await tap('link', 'Log it')
    await tap('button', /Touch-up/)
    await reads('Logged.')
    const [entry] = (await api('/sharpenings?pageSize=1&orderBy=occur_time%20desc')).sharpenings
    same(entry.tool, 'shops/main/tools/bowl-gouge-12', 'the tool logged')
    same(entry.recipe, 'shops/main/recipes/bowl-50/revisions/1', 'the recipe logged')
    same(entry.settings.wheelGapMm, 108.5, 'the wheel gap logged')
    await tap('button', /Undo/)
    await reads('Undone: the entry is corrected.')
    const log = (await api('/sharpenings?pageSize=1000')).sharpenings
    same(log.length, before + 2, 'entries after logging and undoing')
    holds(log.some((s) => s.corrects === entry.name), 'nothing corrects the entry')
    await tap('link', 'Next tool')
    await reads('Lately')

    // What if the stick-out were a millimetre more, and the leg a position up? The answer follows, and can be taken.
    await at(page, `#/set-up/north/what-if?${bowl}`)
    await tap('button', 'Stick-out: more')
    await tap('button', 'Leg position: more')
    const other = await api(':solveSetup', { rig: rig(), given: { stickOutMm: 46, legPosition: '4' } })
    same(await page.locator('.answer .number').innerText().then(flat), other.setup.steps[0].support.wheelGap.text, 'what if')
    await tap('button', 'Edge angle: more')
    await page.getByText('51.0°').first().waitFor()
    await tap('link', 'Set it up so')
    same(await page.locator('.number').innerText().then(flat), '46.0 mm', 'the stick-out taken over')

    // An edge that cannot be is refused in words that are all of people: no path of a field, and every number.
    await at(page, `#/set-up/north/what-if?${bowl}&edge=89`)
    await tap('button', 'Edge angle: more')
    await page.locator('.refusal p').getByText('Edge angle is 90°; it must be above 0° and below 90°.', { exact: true }).waitFor()
    const none = await api(':solveSetup', { rig: { ...rig(), station: 'shops/main/stations/nort' } })
    await at(page, `#/set-up/nort/whole?${bowl}`)
    refusedAs(await page.locator('.refusal p').innerText(), none.message, 'a station that is none')
    await reads(/^No station is called nort; nearest: north,/)

    // Proved at another edge than the recipe's, it is that edge that counts: 10° short of it is not this grind, and there is a move.
    await at(page, `#/set-up/north/prove?${bowl}&edge=56`)
    await tap('button', 'Protractor')
    for (const key of '49') await tap('button', key)
    await tap('button', 'It shows that')
    await page.locator('.result .move').getByText(/out/).waitFor()
    same(await page.getByText('That is this grind').count(), 0, 'verdicts that 49° on the bevel is a grind of 56°')

    // Where nothing can be set up, no key leads back to the same page.
    await at(page, '#/set-up/west/wheel?tool=detail-gouge-6')
    await reads('No set-up here')
    same(await page.getByRole('link', { name: 'What if…' }).count(), 0, 'keys that lead nowhere')

    // 15:20: south is dressed: its diameter is stale at once.
    await at(page, '#/wheel/south-white')
    await tap('button', 'It was dressed, and is not measured yet')
    await at(page, `#/set-up/south/wheel?${bowl}`)
    await reads(/Dressed/)
    await reads(/The diameter is stale/)

    // The sheet is a PDF, to open or share.
    await at(page, `#/set-up/north/whole?${bowl}`)
    const [answer] = await Promise.all([page.waitForResponse(/:renderSheet$/), tap('button', 'Print the sheet')])
    same(answer.headers()['content-type'], 'application/pdf', 'the sheet')
    holds(Number(answer.headers()['content-length']) > 10_000, 'the sheet is next to empty')
    holds((await page.getByRole('link', { name: 'Open the sheet' }).getAttribute('href')).startsWith('blob:'), 'the sheet cannot be opened')

    // Solved anew, in inches, it is not that sheet any more: it would still say millimetres.
    await tap('button', 'inch')
    await page.getByRole('button', { name: 'Print the sheet' }).waitFor()
    same(await page.getByRole('link', { name: 'Open the sheet' }).count(), 0, 'sheets of before')
    await tap('button', 'mm')

    // 16:45: a station is locked with two taps; its numbers are gone, for everybody and at once.
    await at(page, `#/set-up/west/1?${bowl}`)
    holds((await page.locator('.number').count()) === 1, 'no number on west')
    await at(page, '#/station/west')
    await tap('button', 'Lock this station')
    await tap('button', 'Noise or shaking')
    await becomes(async () => (await api('/stations/west')).stateReason, 'Noise or shaking', 'the reason kept')
    await reads('Locked')
    for (const route of ['1', 'whole', 'what-if', 'prove', 'log']) {
      await at(page, `#/set-up/west/${route}?${bowl}`)
      await reads(/is locked/)
      const words = await page.locator('main').innerText()
      holds(!/\d/.test(words), `a number on a locked station: ${words}`)
    }

    // It is released with what was put right, and by whom.
    await at(page, '#/station/west')
    await tap('button', 'Release the station')
    same((await api('/stations/west')).state, 'STATION_STATE_LOCKED', 'state without a reason')
    await page.getByLabel('What was put right?').fill('Bearing changed, wheel rung and trued')
    await page.getByLabel('Who releases it?').fill('p.17')
    await page.getByRole('checkbox').check()
    await tap('button', 'Release the station')
    await reads('In service')
    await becomes(async () => (await api('/stations/west')).state, 'STATION_STATE_IN_SERVICE', 'state after release')
  })
  await refusals()
}

// In every language a refusal calls what was wrong by the page's own word, with the API's numbers.
async function refusals() {
  for (const [locale, said] of [['de-DE', ['Schneidenwinkel ist 90°; möglich ist mehr als 0° und weniger als 90°.', 'Überstand ist 5000 mm; möglich ist mehr als 0 mm und höchstens 2000 mm.']],
    ['es-ES', ['Ángulo del filo: 90°; tiene que ser más de 0° y menos de 90°.', 'Voladizo: 5000 mm; tiene que ser más de 0 mm y como mucho 2000 mm.']]]) {
    await opened({ locale }, async (page) => {
      for (const [n, asked] of ['edge=90', 'stickOut=5000'].entries()) {
        await at(page, `#/set-up/north/whole?${bowl}&${asked}`)
        await page.locator('.refusal p').first().waitFor()
        same(await page.locator('.refusal p').first().innerText(), said[n], `${asked} in ${locale}`)
      }
    })
  }
}

const rig = () => ({ station: 'shops/main/stations/north', tool: 'shops/main/tools/bowl-gouge-12' })
const flat = (text) => text.replace(/\s+/g, ' ').replace(/ °/, '°').trim()

async function labelled(tool, system, value) {
  const answer = await fetch(`${shop}/tools/${tool}`, {
    method: 'PATCH', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ externalIds: [{ system, value }] }),
  })
  holds(answer.ok, `the tool could not be labelled: ${await answer.text()}`)
}

/** swipe draws a finger sideways over the screen. */
async function swipe(page, by) {
  const touch = await page.context().newCDPSession(page)
  const point = (x) => [{ x, y: 400 }]
  await touch.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: point(500) })
  for (let n = 1; n <= 4; n++) await touch.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: point(500 + (by * n) / 4) })
  await touch.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] })
  await settled(page)
}

await alone(import.meta.url, day)
