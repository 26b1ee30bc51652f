// Looking after the shop: a lock that everybody sees and nobody writes over, a release by those who may, entries taken back, a wheel's log with
// what the API foresees, inspections, and what people write into notes.
import { alone, api, at, becomes, holds, opened, phone, refusedAs, same, settled, shop, tablet } from './browser.mjs'

const bowl = 'tool=bowl-gouge-12'
const markup = '<img src=x onerror="window.hurt=1"><b>bold</b>${window.hurt=1}'
const leftwards = 'העץ קשה מאוד — תבדקו שוב'

export default async function care() {
  await due()
  await unfit()
  await wear()
  await picture()
  await locks()
  await roles()
  await undone()
  await inspections()
  await notes()
  await keys()
  await times()
}

const kept = async (path, body) => {
  const answer = await api(path, body)
  holds(answer.status === 200, `${path}: ${answer.message}`)
  return answer
}
const ago = (days) => new Date(Date.now() - days * 86_400_000).toISOString()
const changed = async (path, body) => same((await fetch(shop + path, { method: 'PATCH', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) })).status, 200, path)
const flat = (text) => text.replace(/\s+/g, ' ').trim()
const tap = async (page, role, name) => {
  await page.getByRole(role, { name, exact: typeof name === 'string' }).first().click()
  await settled(page)
}

// daysTo is how many days of the calendar are left; below 0 it is past.
const daysTo = (time) => Math.round((Date.parse(new Date(time).toDateString()) - Date.parse(new Date().toDateString())) / 86_400_000)

const overdueFor = (days) => (days === 0 ? 'due today' : days === 1 ? 'overdue for 1 day' : `overdue for ${days} days`)

// What is overdue comes first, then what is due soon, in words wherever the thing is shown; looked at, it is due no longer.
async function due() {
  const due = async (path) => (await api(path)).inspectionDueTime
  const late = -daysTo(await due('/stations/west')), soon = daysTo(await due('/stations/south')), later = daysTo(await due('/stations/north'))
  holds(late > 1 && soon >= 1 && soon <= 3 && later > 3, `the demonstration: overdue for ${late}, due in ${soon} and in ${later}`)
  await changed('/holders/swing', { inspectionIntervalDays: 365 })
  await changed('/wheels/south-white', { inspectionIntervalDays: 4 })
  const words = overdueFor(late), wheels = overdueFor(-daysTo(await due('/wheels/south-white')))
  await opened({ viewport: phone }, async (page) => {
    const list = page.locator('.care-list.due > li'), lines = async () => (await list.allInnerTexts()).map(flat)
    await at(page, '#/')
    await page.locator('.tile', { hasText: 'West' }).getByText(`Inspection: ${words}`).waitFor()
    same(await page.locator('.tile', { hasText: 'North' }).getByText('Inspection').count(), 0, 'what is said of a station that is not overdue')
    // So it is where a tool's station is chosen.
    await at(page, `#/tool/bowl-gouge-12`)
    await page.locator('.tile', { hasText: 'West' }).getByText(`Inspection: ${words}`).waitFor()
    same(await page.locator('.tile', { hasText: 'North' }).getByText('Inspection').count(), 0, 'what is said of a station to choose that is not overdue')
    await at(page, '#/')
    await tap(page, 'link', 'Care: what wants looking after')
    await list.first().waitFor()
    same(await page.locator('main h2').first().innerText(), 'Inspections due', 'what comes first')
    const read = await lines()
    for (const [n, said] of [`West.*${words}`, `White bonded.*${wheels}`, 'Swing holder.*never inspected', `South.*due in ${soon} days`].entries()) holds(new RegExp(said).test(read[n]), `line ${n} is not ${said}: ${read.join(' | ')}`)
    same(read.length, 4, 'what is due now or soon')
    same(await list.locator('.state.locked', { hasText: /overdue|never/ }).locator('svg.icon').count(), 3, 'pictures beside what is overdue: colour alone says nothing')
    holds(flat(await page.locator('section', { hasText: 'Inspections, the oldest first' }).innerText()).includes(`due in ${later} days`), 'when the others are due')

    for (const [screen, called] of [['#/station/west', words], ['#/station/south', wheels], ['#/wear/south-white', wheels], ['#/wheel/south-white', wheels]]) {
      await at(page, screen)
      await page.getByText(`Inspection: ${called}`, { exact: true }).waitFor()
    }
    // A set-up says so too, and gives its numbers.
    await at(page, `#/set-up/west/whole?${bowl}`)
    await page.getByText('The inspection of this station has been due since').waitFor()
    holds(await page.locator('.row dd').count() > 0, 'no numbers')

    // An entry that comes late with its own time, older than the newest, changes nothing.
    await kept('/inspections', { subject: 'shops/main/stations/west', finding: 'INSPECTION_FINDING_SOUND', occurTime: ago(40) })
    await at(page, '#/care')
    await list.first().getByText(words).waitFor()

    // One tap leads to it, one more says what was found, whatever that is.
    for (const [subject, name, found] of [['stations/west', /^Inspect it: West/, /In order/], ['holders/swing', /^Inspect it: Swing/, /To be seen to/], ['wheels/south-white', /^Inspect it: White/, /Not to be used/]]) {
      await at(page, '#/care')
      await page.getByRole('link', { name }).click()
      await tap(page, 'button', found)
      await page.getByText('Kept.').waitFor()
      await tap(page, 'link', 'Care')
      await list.first().waitFor()
      await settled(page)
      same(await list.getByRole('link', { name }).count(), 0, `${subject} among what is due`)
      await becomes(async () => Date.parse(await due(`/${subject}`)) > Date.now() + 3 * 86_400_000, true, `${subject} is due later by the API`)
    }
    same((await lines()).length, 1, 'what is left')
    await at(page, '#/station/west')
    same(await page.getByText('Inspection: ').count(), 0, 'what is said of a station that was inspected')

    // Days go by.
    await page.clock.setFixedTime(Date.parse(await due('/stations/west')) + 86_400_000)
    await page.reload()
    await page.getByText('Inspection: overdue for 1 day', { exact: true }).waitFor()
    await page.clock.setFixedTime(Date.parse(await due('/stations/west')) - 1)
    await page.reload()
    await page.locator('main .lead .state').waitFor()
    same(await page.getByText('Inspection: ').count(), 0, 'what is said a moment before')
    await at(page, '#/care')
    await list.filter({ hasText: 'West' }).getByText('due today').waitFor()
  })
  for (const [locale, said] of [['de', `Prüfung: seit ${late} Tagen überfällig`], ['es', `Inspección: pendiente desde hace ${late} días`]]) {
    await opened({ locale }, async (page) => {
      await page.clock.setFixedTime(Date.parse(await due('/stations/west')) + late * 86_400_000)
      await at(page, '#/station/west')
      await page.getByText(said, { exact: true }).waitFor()
    })
  }
  await changed('/wheels/south-white', { inspectionIntervalDays: 30 })
}

// The picture is to scale, and every sentence and number of what is foreseen is the API's.
async function wear() {
  const wheel = '/wheels/south-white'
  for (const [days, diameterMm] of [[80, 188.9], [55, 188.4], [30, 187.9]]) await kept(`${wheel}/measurements`, { diameterMm, occurTime: ago(days) })
  await kept(`${wheel}/measurements`, { aroundMm: 587.6, occurTime: ago(0.01), notes: 'A strip of paper' })
  await opened({ viewport: tablet }, async (page) => {
    await at(page, '#/wear/south-white')
    await page.locator('.plot .point').nth(1).waitFor()
    await settled(page)
    const before = await page.locator('.plot > svg .point').count()
    const { wheelMeasurements } = await api(`${wheel}/measurements?orderBy=occur_time`)
    same(before, wheelMeasurements.length, 'points of the picture')
    same(await page.locator('.kept tbody tr').count(), wheelMeasurements.length, 'lines of the log')

    // The pixels of any three points stand as their days and diameters do.
    const points = await page.locator('.plot > svg .point').evaluateAll((all) => all.map((c) => [Number(c.getAttribute('cx')), Number(c.getAttribute('cy'))]))
    const straight = (i, j, k, of, axis) => Math.abs((points[j][axis] - points[i][axis]) / (points[k][axis] - points[i][axis]) - (of(j) - of(i)) / (of(k) - of(i)))
    const times = (n) => Date.parse(wheelMeasurements[n].occurTime), sizes = (n) => wheelMeasurements[n].diameterMm
    holds(straight(0, 1, 2, times, 0) < 1e-3 && straight(0, 2, 4, times, 0) < 1e-3, 'days are not to scale')
    holds(straight(0, 1, 2, sizes, 1) < 1e-3, 'diameters are not to scale')
    holds(points[0][1] < points[2][1], 'a larger wheel is not further up')

    // The strip's diameter is the one that the API made of it.
    const believed = await api(wheel)
    holds(flat(await page.locator('.kept tbody tr').first().innerText()).includes(`${believed.diameterMm.toFixed(1)} mm`), 'the diameter by strip is not the record’s')
    same(await page.locator('.plot > svg .expected, .plot > svg .range').count(), 2, 'what is expected, and its range')
    holds((await page.locator('.plot > svg .expected').evaluate((e) => getComputedStyle(e).strokeDasharray)) !== 'none', 'the expected is told from the measured by colour alone')
    holds(/^Measurements: 5, from 188\.9 mm on /.test(await page.locator('.plot > svg').getAttribute('aria-label')), 'the picture does not say what it is')

    for (const inch of [false, true]) {
      if (inch) await tap(page, 'button', 'inch')
      const foreseen = await api(`${wheel}:forecastWear?wording.languageCode=en&wording.lengthUnit=LENGTH_UNIT_${inch ? 'INCH' : 'MM'}`)
      await page.getByText(foreseen.texts[1], { exact: true }).waitFor()
      same((await page.locator('.texts').first().locator('li').allInnerTexts()).map(flat).join('|'), foreseen.texts.map(flat).join('|'), 'what is foreseen')
      holds((await page.locator('.texts').nth(1).innerText()).includes(foreseen.recipes[0].text), 'the most urgent recipe is not the first')
      same(await page.locator('.plot .axis').textContent(), inch ? 'Diameter, in' : 'Diameter, mm', 'the axis')
    }
    await tap(page, 'button', 'mm')
    await page.locator('summary', { hasText: 'As a table' }).click()
    const last = await page.locator('details .log tbody tr').last().innerText()
    const [, day, expected, least, most] = /^(.*?\d{4})\s+([\d.]+) mm\s+([\d.]+) mm – ([\d.]+) mm$/.exec(flat(last)) ?? []
    const noon = new Date(`${day} 12:00 UTC`), then = await api(`${wheel}:forecastWear?forecastTime=${noon.toISOString()}`)
    for (const [seen, told] of [[expected, then.diameterMm], [least, then.leastDiameterMm], [most, then.mostDiameterMm]]) holds(Math.abs(Number(seen) - told) < 0.11, `on ${day}: ${seen}, the API says ${told}`)

    // One measured now comes into the picture and the log.
    await tap(page, 'link', 'Measure the wheel')
    for (const key of '186.8') await tap(page, 'button', key === '.' ? 'Decimal point' : key)
    await tap(page, 'button', 'Keep this')
    await page.locator('.plot .point').nth(1).waitFor()
    await page.locator('.kept tbody tr').first().getByText('186.8 mm').waitFor()
    same(await page.locator('.plot > svg .point').count(), before + 1, 'points after one more')

    // A log that is too short is said to be, in the API's words, without the name of its record.
    await at(page, '#/wear/north-fine')
    const { message } = await api('/wheels/north-fine:forecastWear')
    holds(/takes two measurements/.test(message), `the API has other words: ${message}`)
    const said = page.locator('.panel', { hasText: 'What is to be expected' }).locator('p').first()
    await said.getByText('takes two measurements').waitFor()
    refusedAs(await said.innerText(), message, 'a log that is too short')
    holds(/^The log tells no rate of wear/.test(await said.innerText()), `how it begins: ${await said.innerText()}`)

    // Dressed and not measured: due at once, in the API's words.
    await kept('/wheels/south-white/measurements', { dressed: true })
    await at(page, '#/care')
    const due = (await api(`${wheel}:forecastWear?wording.languageCode=en`)).texts[0]
    holds(/^Dressed on/.test(due), `the API says ${due}`)
    await page.locator('.care-list .state.locked').getByText(/dressed since and not measured/).waitFor()
    await page.getByText(due).waitFor()
    await kept('/wheels/south-white/measurements', { diameterMm: 186.7 })
  })
}

// Words in the picture of the wear keep off lines and dots, and no mark of the axis is a nought below nought, however little may be left of a wheel.
async function picture() {
  const name = '/wheels/worn-down'
  await kept('/wheels?wheelId=worn-down', { displayName: 'Worn down', abrasive: 'ABRASIVE_KIND_BONDED', diameterMm: 152, newDiameterMm: 200, smallestDiameterMm: 150, widthMm: 25, markedSpeedMps: 35 })
  for (const [days, diameterMm] of [[90, 152], [70, 151.4], [50, 150.9], [30, 150.5], [12, 150.2], [2, 150.05]]) await kept(`${name}/measurements`, { diameterMm, occurTime: ago(days) })
  for (const [locale, viewport] of [['en-GB', tablet], ['de-DE', phone], ['es-ES', { width: 360, height: 740 }]]) {
    await opened({ locale, viewport }, async (page) => {
      await at(page, '#/wear/worn-down')
      await page.locator('.plot .name').first().waitFor()
      await settled(page)
      same((await page.evaluate(struck)).join('; '), '', `${locale}, ${viewport.width} px`)
    })
  }
  await opened({}, async (page) => {
    await page.route('**/v1/**:forecastWear**', async (route) => {
      const answer = await route.fetch(), body = await answer.json()
      await route.fulfill({ response: answer, json: { ...body, diameterMm: 149, leastDiameterMm: 0.01, mostDiameterMm: 150 } })
    })
    await at(page, '#/wear/worn-down')
    await page.locator('.plot .range').first().waitFor()
    await settled(page)
    const marks = await page.locator('.plot > svg text[text-anchor=end]').allTextContents()
    holds(marks.includes('0') && marks.length > 2 && !marks.some((m) => /^[-−]/.test(m)), `marks of the axis: ${marks}`)
  })
}

// struck runs in the page: which words lie over a line, a dot or other words.
function struck() {
  const found = [], svg = document.querySelector('.plot > svg'), words = [...svg.querySelectorAll('text')]
  const boxes = words.map((e) => {
    const { x, y, width, height } = e.getBoundingClientRect(), thin = height / 5 // what a line of text keeps above and below its letters
    return { left: x, right: x + width, top: y + thin, bottom: y + height - thin }
  })
  boxes.forEach((a, n) => boxes.forEach((b, m) => m > n && a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom && found.push(`${words[n].textContent} covers ${words[m].textContent}`)))
  const toScreen = svg.getScreenCTM()
  for (const drawn of svg.querySelectorAll('.joined, .point, .expected, .end, .today, .dressed')) {
    const long = drawn.getTotalLength(), hit = new Set()
    for (let i = 0; i <= long; i++) {
      const p = drawn.getPointAtLength(i).matrixTransform(toScreen)
      boxes.forEach((b, n) => p.x > b.left && p.x < b.right && p.y > b.top && p.y < b.bottom && hit.add(n))
    }
    for (const n of hit) found.push(`${words[n].textContent} lies over ${drawn.getAttribute('class')}`)
  }
  if (!svg.querySelector('.end') || words.length < 6) found.push('there is nothing to lie over')
  return found
}

// Of several entries of a day each has its time, by the clock of this device.
async function times() {
  const day = new Date(Date.now() - 3 * 86_400_000).toISOString().slice(0, 10)
  for (const [time, diameterMm] of [['06:05', 150.04], ['16:45', 150.03]]) await kept('/wheels/worn-down/measurements', { diameterMm, occurTime: `${day}T${time}:00Z` })
  for (const time of ['06:15', '16:55']) await kept('/sharpenings', { kind: 'SHARPENING_KIND_HONE', tool: 'shops/main/tools/skew-25', occurTime: `${day}T${time}:00Z`, notes: 'Of one day' })
  for (const [timezoneId, locale, clocks] of [['Asia/Kolkata', 'en-GB', ['11:35', '22:15']], ['Etc/UTC', 'de-DE', ['06:05', '16:45']]]) {
    await opened({ timezoneId, locale }, async (page) => {
      await at(page, '#/wear/worn-down')
      await page.locator('.kept tbody tr').first().waitFor()
      const lines = (await page.locator('.kept tbody tr').allInnerTexts()).map(flat)
      for (const clock of clocks) same(lines.filter((l) => l.includes(` ${clock} `)).length, 1, `lines of the wheel’s log of ${clock} in ${timezoneId}`)
      await at(page, '#/log')
      await page.locator('.care-list > li').first().waitFor()
      const entries = (await page.locator('.care-list > li').allInnerTexts()).map(flat)
      const later = clocks.map((c) => c.replace(/:(\d\d)$/, (_, m) => `:${String(Number(m) + 10).padStart(2, '0')}`))
      for (const clock of later) same(entries.filter((l) => l.includes(`, ${clock}`)).length, 1, `entries of ${clock} in ${timezoneId}`)
    })
  }
}

// Locked in two taps on one place; the numbers are gone elsewhere; what two people say at once is all kept.
async function locks() {
  await opened({ viewport: tablet }, async (here) => {
    await opened({ viewport: phone }, async (there) => {
      await at(here, `#/set-up/west/1?${bowl}`)
      same(await here.locator('.number').count(), 1, 'numbers on west')
      for (const page of [here, there]) await at(page, '#/station/west')
      const lock = there.getByRole('button', { name: 'Lock this station' }), first = await lock.boundingBox()
      await lock.evaluate(async (button) => { // a finger that shakes
        button.click()
        await button.closest('k-lock').updateComplete
        button.click()
      })
      await settled(there)
      holds((await api('/stations/west')).state !== 'STATION_STATE_LOCKED', 'a tap that shook locked it')
      const sure = there.getByRole('button', { name: 'Lock it now' }), second = await sure.boundingBox()
      for (const side of ['x', 'y', 'width', 'height']) holds(Math.abs(first[side] - second[side]) < 2, `the second tap is elsewhere: ${side}`)
      await there.waitForTimeout(500)
      await there.touchscreen.tap(first.x + first.width / 2, first.y + first.height / 2)
      await there.getByText('Locked: Locked in a hurry; ask before use').waitFor()
      await becomes(async () => (await api('/stations/west')).state, 'STATION_STATE_LOCKED', 'state after two taps')
      await there.getByLabel('In your own words').fill('The belt slips')
      await tap(there, 'button', 'Add to the reason')
      await becomes(async () => (await api('/stations/west')).stateReason, 'Locked in a hurry; ask before use; The belt slips', 'the reason, added to')

      // The other one had it open while it was in service: told, and nothing is written over.
      await tap(here, 'button', 'Lock this station')
      await here.getByLabel('In your own words').fill('A crack in the rest')
      await tap(here, 'button', 'Lock it for this reason')
      await here.getByText('Somebody else locked it meanwhile').waitFor()
      await here.getByText('“A crack in the rest”').waitFor()
      same((await api('/stations/west')).stateReason, 'Locked in a hurry; ask before use; The belt slips', 'the reason while it is asked')
      await tap(here, 'button', 'Add mine to it')
      await becomes(async () => (await api('/stations/west')).stateReason, 'Locked in a hurry; ask before use; The belt slips; A crack in the rest', 'both reasons')
      await at(here, `#/set-up/west/1?${bowl}`)
      await here.getByText(/is locked/).first().waitFor()
      holds(!/\d/.test(await here.locator('main').innerText()), 'a number on a locked station')
      await at(here, '#/care')
      await here.locator('.care-list').getByText('A crack in the rest').waitFor()

      // Released by what one has seen: locked anew meanwhile, it stays locked, and what was typed stays too.
      await at(there, '#/station/west')
      await kept('/stations/west:lock', { lockReason: 'The guard is off' })
      await there.getByLabel('What was put right?').fill('Belt changed')
      await there.getByLabel('Who releases it?').fill('p.17')
      await there.getByRole('checkbox').check()
      await tap(there, 'button', 'Release the station')
      await there.getByText('Somebody changed this station meanwhile').waitFor()
      await there.getByText('Locked: The guard is off').waitFor()
      same((await api('/stations/west')).state, 'STATION_STATE_LOCKED', 'state after a release that came late')
      same(await there.getByLabel('What was put right?').inputValue(), 'Belt changed', 'what was typed')
      await tap(there, 'button', 'Release the station')
      await there.getByText('In service').waitFor()
      await becomes(async () => (await api('/stations/west')).stateReason, 'Belt changed', 'what was put right')
    })
  })
}

// Who may not release is told so in the API's words; this is what `arrisd --role operator` answers.
async function roles() {
  const message = 'UnlockStation needs the role keeper, and callers here have operator'
  await kept('/stations/west:lock', { lockReason: 'Wheel damaged' })
  await opened({}, async (page) => {
    await page.route(/:unlock$/, (route) => route.fulfill({
      status: 403, json: { code: 7, message, details: [{ '@type': 'type.googleapis.com/google.rpc.ErrorInfo', reason: 'ROLE_TOO_LOW', domain: 'arris.example' }] },
    }))
    await at(page, '#/station/west')
    await page.getByLabel('What was put right?').fill('New wheel')
    await page.getByLabel('Who releases it?').fill('p.3')
    await page.getByRole('checkbox').check()
    await tap(page, 'button', 'Release the station')
    await page.getByRole('alert').getByText(message).waitFor()
    same(await page.getByLabel('What was put right?').inputValue(), 'New wheel', 'what was typed')
  })
  await kept('/stations/west:unlock', { unlockReason: 'New wheel' })
}

// Logged in two taps; taken back from the log within ten minutes, and not after.
async function undone() {
  const was = (await api('/sharpenings?pageSize=1000')).sharpenings.length
  await opened({}, async (page) => {
    for (const [kind, name] of [[/Regrind/, 'SHARPENING_KIND_REGRIND'], [/Hone/, 'SHARPENING_KIND_HONE']]) {
      await at(page, `#/set-up/north/whole?${bowl}`)
      await tap(page, 'link', 'Log it')
      await tap(page, 'button', kind)
      await page.getByText('It can be undone for another 10 minutes.').waitFor()
      await becomes(async () => (await api('/sharpenings?pageSize=1&orderBy=occur_time%20desc')).sharpenings[0].kind, name, 'the kind logged')
    }
    await tap(page, 'link', 'The log')
    const lines = page.locator('.care-list > li')
    await lines.nth(1).getByText('Regrind: bowl-gouge-12').waitFor()
    await lines.nth(1).getByRole('button', { name: 'Undo' }).click()
    await page.getByText('taken back').waitFor()
    await settled(page)
    const { sharpenings } = await api('/sharpenings?pageSize=1000&orderBy=occur_time%20desc')
    same(sharpenings.length, was + 3, 'entries: nothing is deleted')
    const correction = sharpenings.find((s) => s.corrects), wrong = sharpenings.find((s) => s.name === correction?.corrects)
    same(wrong?.kind, 'SHARPENING_KIND_REGRIND', 'what was taken back')
    for (const field of ['tool', 'station', 'wheel', 'recipe']) same(correction[field], wrong[field], `the correction's ${field}`)
    await lines.getByText('Correction: Regrind: bowl-gouge-12').waitFor()
    same(await page.getByRole('button', { name: 'Undo' }).count(), 1, 'what can be taken back: the other one alone')

    await page.clock.setFixedTime(Date.now() + 11 * 60_000)
    await tap(page, 'button', 'inch')
    same(await page.getByRole('button', { name: 'Undo' }).count(), 0, 'what can be taken back after eleven minutes')
    holds(/Hone: bowl-gouge-12/.test(await page.locator('main').innerText()), 'the entry is gone')
  })
}

// What was found not to be used is said wherever one would begin with it, first of all in Care, with a picture and in words, until a newer look
// finds otherwise. How often it is to be inspected has no part in that.
async function unfit() {
  const look = (subject, finding, more = {}) => kept('/inspections', { subject: `shops/main/${subject}`, finding: `INSPECTION_FINDING_${finding}`, ...more })
  await look('wheels/south-white', 'SOUND')
  await changed('/stations/north?updateMask=inspectionIntervalDays', {})
  const said = 'Found not to be used', bad = (where) => where.locator('.state.unsafe', { hasText: said })
  await opened({ viewport: phone }, async (page) => {
    const tile = page.locator('main .tile', { hasText: 'North' })
    await at(page, '#/')
    await tile.getByText('In service').waitFor()
    same(await bad(page).count(), 0, 'before anybody looked')
    await look('stations/north', 'UNSAFE', { notes: 'Guard is cracked' })
    await look('stations/north', 'SOUND', { occurTime: ago(30) }) // told late
    for (const [screen, where] of [['#/', tile], ['#/tool/bowl-gouge-12', tile], ['#/station/north', page.locator('main .lead')], [`#/set-up/north/1?${bowl}`, page.locator('main')]]) {
      await at(page, screen)
      await page.reload() // it may be there already
      await bad(where).waitFor()
      same(await bad(where).locator('svg.icon').count(), 1, `${screen}: pictures beside the words`)
      same(await where.getByText('In service').count(), 0, `${screen}: in service all the same`)
    }
    await at(page, `#/set-up/north/whole?${bowl}`)
    await page.getByText('was found not fit for use on').waitFor()
    holds(await page.locator('.row dd').count() > 0, 'no numbers')

    await look('holders/swing', 'UNSAFE')
    await changed('/holders/swing?updateMask=inspectionIntervalDays', {})
    await at(page, '#/care')
    same(await page.locator('main h2').first().innerText(), said, 'what comes first')
    const first = page.locator('section', { has: page.getByRole('heading', { name: said }) })
    same(await first.locator('li').count(), 2, 'what is not to be used')
    await first.locator('li', { hasText: 'North' }).getByText('Guard is cracked').waitFor()
    same(await page.getByRole('link', { name: /^Inspect it: North/ }).count(), 1, 'places to say that it was inspected')
    same(await page.getByText('All stations are in service.').count(), 0, 'all is well')
    await page.getByText('No station is locked.').waitFor()
    await first.getByRole('link', { name: /^Lock this station: North/ }).click()
    await page.getByRole('button', { name: 'Lock this station' }).waitFor()
    await tap(page, 'button', 'Lock this station')
    await page.waitForTimeout(500)
    await tap(page, 'button', 'Lock it now')
    await page.locator('.state.locked').first().waitFor()
    await bad(page.locator('main')).waitFor() // so that whoever releases it reads it
    await kept('/stations/north:unlock', { unlockReason: 'Guard changed' })

    // Put right and looked at again, it is in service; but not with a wheel that is not.
    await at(page, '#/care')
    await page.getByRole('link', { name: /^Inspect it: North/ }).click()
    await tap(page, 'button', /In order/)
    await page.getByText('Kept.').waitFor()
    await becomes(async () => (await api('/stations/north')).inspectFinding, 'INSPECTION_FINDING_SOUND', 'what is kept')
    await look('holders/swing', 'ATTENTION')
    await at(page, '#/')
    await tile.getByText('In service').waitFor()
    await look('wheels/north-fine', 'UNSAFE')
    for (const screen of ['#/', '#/wheel/north-fine', '#/wear/north-fine', '#/station/north', `#/set-up/north/wheel?${bowl}`]) {
      await at(page, screen)
      await page.reload()
      await bad(page.locator('main')).first().waitFor()
      same(await page.locator('main .tile', { hasText: 'North' }).getByText('In service').count(), 0, `${screen}: in service all the same`)
    }
    await at(page, '#/care')
    same(await page.getByText('All stations are in service.').count(), 0, 'all is well with such a wheel')
  })
  for (const [locale, words] of [['de', 'Geprüft und nicht zu benutzen'], ['es', 'Inspección: no usar']]) {
    await opened({ locale }, async (page) => {
      await at(page, '#/')
      await page.locator('.tile', { hasText: 'North' }).getByText(words).waitFor()
    })
  }
  await look('wheels/north-fine', 'SOUND')
  await changed('/stations/north', { inspectionIntervalDays: 7 })
  await opened({}, async (page) => {
    await at(page, '#/care')
    await page.getByText('All stations are in service.').waitFor()
    same(await bad(page).count(), 0, 'after all was put right')
  })
}

// In two taps from the list; the oldest come first; what is not to be used can be locked there and then.
async function inspections() {
  await kept('/inspections', { subject: 'shops/main/wheels/spare-coarse', finding: 'INSPECTION_FINDING_SOUND', occurTime: ago(20) })
  await kept('/inspections', { subject: 'shops/main/stations/south', finding: 'INSPECTION_FINDING_ATTENTION', notes: 'Lamp flickers', occurTime: ago(1) })
  await opened({ viewport: phone }, async (page) => {
    await at(page, '#/')
    await tap(page, 'link', 'Care: what wants looking after')
    const list = page.locator('section', { hasText: 'Inspections, the oldest first' }).locator('li')
    await list.first().waitFor()
    const read = (await list.allInnerTexts()).map(flat)
    const place = (words) => read.findIndex((line) => line.includes(words))
    holds(place('no inspection is kept') === 0 && place('20 days ago') > 0 && place('20 days ago') < place('yesterday'), `the order: ${read.join(' | ')}`)
    await page.getByRole('link', { name: /^Inspect it: West/ }).click()
    await page.getByLabel(/^Note/).fill('Bearing is loose')
    await tap(page, 'button', /Not to be used/)
    await page.getByText('is still in service').waitFor()
    const newest = async () => (await api('/inspections?orderBy=occur_time%20desc&pageSize=1')).inspections[0]
    await becomes(async () => newest().then((i) => [i.subject, i.finding, i.notes].join(' ')), 'shops/main/stations/west INSPECTION_FINDING_UNSAFE Bearing is loose', 'what is kept')
    await tap(page, 'button', 'Lock this station')
    await page.waitForTimeout(500)
    await tap(page, 'button', 'Lock it now')
    await page.getByText('is locked.').waitFor()
    await becomes(async () => (await api('/stations/west')).stateReason, 'Bearing is loose', 'why it is locked')
    await at(page, '#/station/west')
    await page.locator('.entries').getByText('Not to be used').waitFor()
  })
  await kept('/stations/west:unlock', { unlockReason: 'Bearing changed' })
}

// Notes are anybody's: markup, ten thousand letters, letters from right to left. They are shown as they were written, and break nothing.
async function notes() {
  const long = 'Wheel '.repeat(1666).trim(), word = 'W'.repeat(10_000)
  for (const [n, written] of [markup, long, word, leftwards].entries()) {
    await kept('/wheels/south-white/measurements', { diameterMm: 186.6 - n / 100, notes: written })
    await kept('/inspections', { subject: 'shops/main/wheels/south-white', finding: 'INSPECTION_FINDING_SOUND', notes: written })
    await kept('/sharpenings', { kind: 'SHARPENING_KIND_HONE', tool: 'shops/main/tools/skew-25', notes: written })
  }
  await kept('/stations/south:lock', { lockReason: markup + 'W'.repeat(400) })
  for (const viewport of [phone, tablet]) {
    await opened({ viewport }, async (page) => {
      for (const [screen, there] of [['#/wear/south-white', '.kept .note'], ['#/log', '.care-list .note'], ['#/care', '.care-list .note'], ['#/station/south', '.state.locked']]) {
        await at(page, screen)
        await page.locator(there).first().waitFor()
        await settled(page)
        for (const fold of await page.locator('.note summary').all()) await fold.click()
        same(await page.evaluate(() => window.hurt), undefined, `${screen}: run`)
        same(await page.locator('main img, main b').count(), 0, `${screen}: markup became elements`)
        const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
        holds(over <= 0, `${screen}: ${over} px run out of the screen`)
        if (screen === '#/wear/south-white') {
          const all = await page.locator('.kept tbody').innerText()
          for (const written of [markup, word, leftwards]) holds(all.includes(written), `not to be read: ${written.slice(0, 40)}`)
          same(await page.locator('.note', { hasText: leftwards }).first().evaluate((e) => (getComputedStyle(e).direction)), 'rtl', 'the direction')
        }
      }
    })
  }
  await kept('/stations/south:unlock', { unlockReason: 'It was a test of words' })
}

// By keyboard alone, and the focus is always to be seen.
async function keys() {
  await opened({ hasTouch: false }, async (page) => {
    const to = async (words) => {
      for (let n = 0; n < 60; n++) {
        const now = await page.evaluate(() => {
          const e = document.activeElement
          return { words: (e.getAttribute('aria-label') ?? e.labels?.[0]?.textContent ?? e.textContent).trim(), ring: getComputedStyle(e).outlineStyle }
        })
        if (words.test(now.words)) return holds(now.ring !== 'none', `no ring around what has the focus: ${now.words}`)
        await page.keyboard.press('Tab')
      }
      throw new Error(`the keyboard does not get to ${words}`)
    }
    const press = async (key) => {
      await page.keyboard.press(key)
      await settled(page)
    }
    await at(page, '#/')
    await to(/^Care/)
    await press('Enter')
    await page.locator('.care-list').first().waitFor()
    await to(/^Inspect it: North/)
    await press('Enter')
    await page.locator('.findings').waitFor()
    await to(/^In order/)
    await press('Enter')
    await page.getByText('Kept.').waitFor()
    await at(page, '#/station/north')
    await to(/^Lock this station/)
    await press('Enter')
    await page.waitForTimeout(500)
    await press('Enter') // the focus stays on the same place
    await page.getByText('Locked: Locked in a hurry').waitFor()
    await becomes(async () => (await api('/stations/north')).state, 'STATION_STATE_LOCKED', 'locked by keyboard')
    await kept('/stations/north:unlock', { unlockReason: 'A drill' })
  })
}

await alone(import.meta.url, care)
