// Without a connection: the page opens, shows what was fetched with its date, and keeps what is entered until it was sent, once. Each part
// begins with a fresh profile on the same server.
import { createServer, request } from 'node:http'
import { findings } from './axe.mjs'
import { address, api, at, flags, holds, opened, phone, same, settled, tablet } from './browser.mjs'

const bowl = 'tool=bowl-gouge-12'
const worker = { serviceWorkers: 'allow' }
const control = async (what) => same((await fetch(process.env.ARRIS_CONTROL + what, { method: 'POST' })).status, 200, what)

const parts = { installable, light, opens, once, looked, broken, twoTabs, restarts, refused, otherEngine, otherPage, cleared, withoutStore, plain, accessible, slow }

/** Only parts that are named: ARRIS_PARTS=slow,once while one of them is worked on. */
export default async function offline() {
  for (const [name, part] of Object.entries(parts)) {
    if (process.env.ARRIS_PARTS && !process.env.ARRIS_PARTS.split(',').includes(name)) continue
    const start = Date.now()
    try {
      await part()
      console.log(`    ${name}: ${((Date.now() - start) / 1000).toFixed(1)} s`)
    } catch (e) {
      e.message = `${name}: ${e.message}`
      throw e
    }
  }
}

// What a browser wants before it offers to install a page (W3C Web App Manifest: name, start_url, display, icons).
async function installable() {
  const manifest = await (await fetch(`${address}/kiosk/manifest.webmanifest`)).json()
  for (const icon of manifest.icons.filter((i) => i.type === 'image/png')) {
    const png = Buffer.from(await (await fetch(`${address}/kiosk/${icon.src}`)).arrayBuffer())
    same(`${png.readUInt32BE(16)}x${png.readUInt32BE(20)}`, icon.sizes, icon.src) // IHDR, PNG 11.2.2
  }
  const sizes = (purpose) => manifest.icons.filter((i) => (i.purpose ?? 'any') === purpose && i.type === 'image/png').map((i) => i.sizes)
  same(sizes('any').join(), '192x192,512x512', 'icons')
  same(sizes('maskable').join(), '512x512', 'icons that may be cut round')
  await opened(worker, async (page) => {
    await at(page, '#/')
    await page.evaluate(() => navigator.serviceWorker.ready)
    const look = await page.context().newCDPSession(page)
    const { installabilityErrors } = await look.send('Page.getInstallabilityErrors')
    same(JSON.stringify(installabilityErrors), '[]', 'what stands against installing it')
  })
}

// A first visit takes 100 kB or less, as it comes over the wire; what is fetched later, while nobody waits, is apart.
async function light() {
  await opened(worker, async (page) => {
    const came = []
    page.on('requestfinished', (r) => !r.serviceWorker() && came.push(r))
    await page.goto(`${address}/kiosk/`)
    await page.locator('main > *').first().waitFor()
    const files = came.filter((r) => new URL(r.url()).pathname.startsWith('/kiosk/') && !r.url().endsWith('config.json'))
    let bytes = 0
    for (const r of files) bytes += (await r.sizes()).responseBodySize
    holds(files.length >= 5 && bytes > 20_000, `only ${files.length} files, ${bytes} bytes were seen`)
    holds(bytes <= 100_000, `a first visit takes ${bytes} bytes`)
    console.log(`    first load ${(bytes / 1000).toFixed(1)} kB in ${files.length} files`)
  })
}

async function opens() {
  await opened(worker, async (page) => {
    await ready(page)
    const online = {}
    for (const station of ['north', 'south', 'west']) {
      await at(page, `#/set-up/${station}/whole?${bowl}`)
      online[station] = await page.locator('.row dd').allInnerTexts()
      same(await page.locator('.as-of').count(), 0, 'a date beside numbers of now')
    }
    await page.context().setOffline(true)
    await page.reload()
    for (const station of ['north', 'south', 'west']) {
      await at(page, `#/set-up/${station}/whole?${bowl}`)
      same((await page.locator('.row dd').allInnerTexts()).join(), online[station].join(), `numbers of ${station} without a connection`)
      holds(/^As of \w+ \d+, \d{4}, \d\d:\d\d — no connection$/.test(await page.locator('.as-of').innerText()), `its date: ${await page.locator('.as-of').innerText()}`)
    }
    // A tool that nobody looked at here was fetched too, and what is refused is refused in the API's words.
    await at(page, '#/set-up/west/1?tool=spindle-gouge-10')
    const told = await api(':solveSetup', { rig: { station: 'shops/main/stations/west', tool: 'shops/main/tools/spindle-gouge-10' } })
    same(flat(await page.locator('.number').innerText()), told.setup.steps[0].stickOut.text, 'the first number of a tool that was only fetched')
    const not = await api(':solveSetup', { rig: { station: 'shops/main/stations/west', tool: 'shops/main/tools/detail-gouge-6' } })
    await at(page, '#/set-up/west/1?tool=detail-gouge-6')
    holds((await page.locator('.refusal').innerText()).toLowerCase().includes(not.message.toLowerCase().slice(0, 40)), 'the refusal')
    for (const what of ['what-if', 'prove']) {
      await at(page, `#/set-up/north/${what}?${bowl}`)
      await page.getByText('Not without a connection').waitFor()
    }
    // Search, other words and another unit go on; numbers stay in the unit they came in, and say it.
    await at(page, '#/')
    await page.locator('#code').fill('bowl 12')
    await page.locator('.tile', { hasText: 'Bowl gouge, 12' }).waitFor()
    await at(page, '#/options')
    await page.getByRole('button', { name: 'Deutsch' }).click()
    await page.getByRole('heading', { name: 'Einstellungen' }).waitFor()
    await page.getByRole('button', { name: 'Zoll' }).first().click()
    await at(page, `#/set-up/north/1?${bowl}`)
    same(flat(await page.locator('.number').innerText()), '45.0 mm', 'a number in the unit it came in')
  })
}

async function once() {
  await opened(worker, async (page) => {
    await ready(page)
    const before = { wheel: await measurements('south-white'), log: await sharpenings() }
    const solved = await api(':solveSetup', { rig: rig('south'), include: ['PART_ERROR_BUDGET'] })
    await page.context().setOffline(true)
    const from = Date.now()
    await measure(page, 'south-white', '186')

    // The numbers are still those for the former diameter, and say by how much they are off: as the engine then finds, to a twentieth degree.
    await at(page, `#/set-up/south/wheel?${bowl}`)
    same(flat(await page.locator('.number').innerText()), '⌀ 186.0 mm', 'the diameter measured just now')
    const words = flat(await page.locator('.as-of').innerText())
    holds(words.includes('Wheel now ⌀ 186.0 mm, not 187.4 mm.'), words)
    const [, set, setWay, left, leftWay] = /Estimate: set so, the edge comes out ([\d.]+)° (\w+)\. Estimate: support left where it stood, ([\d.]+)° (\w+)/.exec(words) ?? []

    await at(page, `#/set-up/north/log?${bowl}`)
    await page.getByRole('button', { name: /Touch-up/ }).click()
    await page.getByText('Kept on this device').waitFor()
    await page.getByRole('button', { name: /Undo/ }).click()
    await page.getByText('Undone').waitFor()
    await at(page, '#/station/west')
    await page.getByRole('button', { name: 'Lock this station' }).click()
    await page.getByRole('button', { name: 'Wheel damaged' }).click()
    await page.getByText('Locked: Wheel damaged').waitFor()
    await page.getByText('Entries to be sent: 4').waitFor()

    const looked = { subject: 'shops/main/holders/swing', finding: 'INSPECTION_FINDING_SOUND', occurTime: new Date().toISOString() }
    await write(page, { kind: 'inspection', about: looked.subject, path: 'v1/shops/main/inspections', body: looked })

    // A lock counts at once, and when the page is opened anew.
    for (const again of [false, true]) {
      await at(page, `#/set-up/west/1?${bowl}`)
      if (again) await page.reload()
      await page.getByText('is locked').waitFor()
      holds(!/\d/.test(await page.locator('main').innerText()), 'a number on a station locked without a connection')
    }
    holds((await api('/stations/west')).state !== 'STATION_STATE_LOCKED', 'sent without a connection')
    const until = Date.now()
    await page.waitForTimeout(1500)
    await page.context().setOffline(false)
    await page.locator('.banner').waitFor({ state: 'detached' })

    const after = { wheel: await measurements('south-white'), log: await sharpenings() }
    same(after.wheel.length, before.wheel.length + 1, 'measurements')
    same(after.log.length, before.log.length + 2, 'sharpenings: one, and its correction')
    const inspections = (await api('/inspections')).inspections.filter((i) => i.subject === looked.subject && Date.parse(i.occurTime) === Date.parse(looked.occurTime))
    same(inspections.length, 1, 'inspections')
    const wheel = fresh(after.wheel, before.wheel)[0], made = fresh(after.log, before.log)
    const entry = made.find((s) => !s.corrects)
    same(wheel.diameterMm, 186, 'the diameter')
    same(made.find((s) => s.corrects).corrects, entry.name, 'what is corrected')
    for (const { occurTime, createTime } of [wheel, ...made, ...inspections]) {
      holds(Date.parse(occurTime) >= from && Date.parse(occurTime) <= until, `its own time: ${occurTime}`)
      holds(Date.parse(createTime) > until, `sent before: ${createTime}`)
    }
    const west = await api('/stations/west')
    same(`${west.state}: ${west.stateReason}`, 'STATION_STATE_LOCKED: Wheel damaged', 'west')

    const at187 = solved.setup.steps.at(-1), s = at187.support
    const gap = await api(':predictGrind', { rig: rig('south'), settings: made_(at187, s) })
    near(signed(set, setWay), gap.steps[0].predicted.edgeAngleDeg - at187.predicted.edgeAngleDeg, 0.05, 'estimate, set anew')
    near(signed(left, leftWay), at187.predicted.wearDegPerMm * 1.4, 0.006, 'estimate, left where it stood')
    await unlock('west')
  })
}

// What is found not to be used while the connection is away counts at once, also in set-ups that were fetched before.
async function unfit(page) {
  const said = page.locator('.state.unsafe', { hasText: 'Found not to be used' })
  await at(page, '#/set-up/north/whole?tool=bowl-gouge-12')
  same(await said.count(), 0, 'before anybody looked')
  await page.context().setOffline(true)
  await at(page, '#/inspect/stations/north')
  await page.getByRole('button', { name: /Not to be used/ }).click()
  await page.getByText('Kept.').waitFor()
  for (const screen of ['#/', '#/station/north', '#/care', '#/set-up/north/whole?tool=bowl-gouge-12']) {
    await at(page, screen)
    await page.reload()
    await said.first().waitFor()
    same(await page.locator('.tile', { hasText: 'North' }).getByText('In service').count(), 0, `${screen}: in service all the same`)
  }
  same((await api('/stations/north')).inspectFinding, 'INSPECTION_FINDING_SOUND', 'sent without a connection')
  await page.context().setOffline(false)
  await page.locator('.banner').waitFor({ state: 'detached' })
  same((await api('/stations/north')).inspectFinding, 'INSPECTION_FINDING_UNSAFE', 'by the API')
  await at(page, '#/')
  await said.waitFor()
  same((await api('/inspections', { subject: 'shops/main/stations/north', finding: 'INSPECTION_FINDING_SOUND' })).status, 200, 'looked at again')
}

// Inspected while the connection is away: due no longer, here at once and by the API when it was sent, an interval after its own time.
async function looked() {
  await opened(worker, async (page) => {
    await ready(page)
    const before = await api('/stations/west'), line = page.locator('.care-list.due > li', { hasText: 'West' })
    holds(Date.parse(before.inspectionDueTime) < Date.now(), 'west is not overdue in the demonstration')
    await at(page, '#/care')
    await line.waitFor()
    await page.context().setOffline(true)
    const from = Date.now()
    await page.reload()
    await line.getByText(/overdue for \d+ days/).waitFor()
    await line.getByRole('link').click()
    await page.getByRole('button', { name: /In order/ }).click()
    await page.getByText('Kept.').waitFor()
    const until = Date.now()
    for (const again of [false, true]) {
      await at(page, '#/care')
      if (again) await page.reload()
      await page.locator('li', { hasText: 'West' }).getByText('due in 7 days').waitFor()
      same(await line.count(), 0, 'west among what is due')
      await at(page, '#/')
      await page.locator('.tile', { hasText: 'West' }).waitFor()
      same(await page.getByText('Inspection: ').count(), 0, 'what its tile says')
    }
    same((await api('/stations/west')).inspectionDueTime, before.inspectionDueTime, 'sent without a connection')
    await page.context().setOffline(false)
    await page.locator('.banner').waitFor({ state: 'detached' })
    const { inspectTime, inspectionDueTime } = await api('/stations/west'), at_ = Date.parse(inspectTime)
    holds(at_ >= from && at_ <= until, `its own time: ${inspectTime}`)
    same(Date.parse(inspectionDueTime) - at_, 7 * 86_400_000, 'when it is due again, ms after its own time')
    await at(page, '#/care')
    await settled(page)
    same(await line.count(), 0, 'west among what is due, by the API')
    await unfit(page)
  })
}

// The connection breaks when the server has done it and before it could say so.
async function broken() {
  await opened(worker, async (page) => {
    await ready(page)
    const before = await sharpenings(), ids = []
    await page.route(/\/sharpenings\?/, async (route) => {
      if (route.request().method() !== 'POST') return route.continue()
      ids.push(new URL(route.request().url()).searchParams.get('requestId'))
      if (ids.length > 2) return route.continue()
      await route.fetch()
      await route.abort('connectionreset')
    })
    await at(page, `#/set-up/north/log?${bowl}`)
    await page.getByRole('button', { name: /Hone/ }).click()
    await page.getByText(/Kept on this device|Logged/).waitFor()
    same((await sharpenings()).length, before.length + 1, 'kept by the server, which could not say so')
    await page.reload()
    await page.getByText('Entries to be sent: 1').waitFor()
    await page.reload()
    await page.locator('.banner').waitFor({ state: 'detached' })
    holds(ids.length >= 3 && new Set(ids).size === 1, `request ids ${ids}`)
    holds(/^kiosk-[0-9a-f]{16}-\d+$/.test(ids[0]), `device and counter: ${ids[0]}`)
    same((await sharpenings()).length, before.length + 1, 'sharpenings')
  })
}

async function twoTabs() {
  await opened(worker, async (page) => {
    await ready(page)
    const other = await page.context().newPage(), sent = []
    for (const tab of [page, other]) tab.on('request', (r) => r.method() === 'POST' && /\/measurements\?/.test(r.url()) && sent.push(new URL(r.url()).searchParams.get('requestId')))
    await at(other, '#/')
    const before = await measurements('north-fine')
    await page.context().setOffline(true)
    for (const [tab, mm] of [[page, '199.6'], [other, '199.5'], [page, '199.4'], [other, '199.3']]) await measure(tab, 'north-fine', mm)
    await measure(page, 'north-fine', '625.5', 'Strip around the rim')
    await at(page, '#/wheel/north-fine')
    await page.getByText('⌀ 199.1 mm, measured').waitFor() // the strip counts here at once, as across: 625.5 / π
    for (const tab of [page, other]) await tab.getByText('Entries to be sent: 5').waitFor()
    sent.length = 0
    await page.context().setOffline(false)
    for (const tab of [page, other]) await tab.locator('.banner').waitFor({ state: 'detached' })
    const made = fresh(await measurements('north-fine'), before)
    same(made.sort((a, b) => Date.parse(a.createTime) - Date.parse(b.createTime)).map((m) => m.diameterMm ?? m.aroundMm).join(), '199.6,199.5,199.4,199.3,625.5', 'each once, in order')
    same(new Set(sent).size, 5, `entries sent: ${sent}`)
    same(sent.length, 5, `times sent: ${sent}`)
  })
}

// The server goes and comes back in the middle of a set-up, and of an entry.
async function restarts() {
  await opened(worker, async (page) => {
    await ready(page)
    await at(page, `#/set-up/north/1?${bowl}`)
    const before = await sharpenings()
    await control('/stop')
    try {
      await page.getByRole('link', { name: 'Next' }).click()
      await page.getByRole('heading', { name: 'Leg angle' }).waitFor()
      holds(/30\.0/.test(await page.locator('.number').innerText()), 'no number while the server is away')
      await page.locator('.as-of').getByText('no connection').waitFor()
      await at(page, `#/set-up/north/log?${bowl}`)
      await page.getByRole('button', { name: /Regrind/ }).click()
      await page.getByText('Kept on this device').waitFor()
    } finally {
      await control('/start')
    }
    await page.locator('.banner').waitFor({ state: 'detached', timeout: 20_000 })
    await page.getByText('Logged.').waitFor()
    same((await sharpenings()).length, before.length + 1, 'sharpenings')
    await at(page, `#/set-up/north/1?${bowl}`)
    same(await page.locator('.as-of').count(), 0, 'a date beside numbers of now')
  })
}

// What the API refuses waits for somebody, with its words, and holds up nothing.
async function refused() {
  await opened(worker, async (page) => {
    await ready(page)
    const before = await sharpenings()
    await page.context().setOffline(true)
    await measure(page, 'south-white', '5')
    await page.getByRole('button', { name: 'It is so: keep it' }).click()
    await settled(page)
    await at(page, `#/set-up/north/log?${bowl}`)
    await page.getByRole('button', { name: /Hone/ }).click()
    await page.getByText('Entries to be sent: 2').waitFor()
    await page.context().setOffline(false)
    await page.getByText('Entries that need a look: 1').click()
    const [item] = await page.locator('.entries li').allInnerTexts()
    holds(/Diameter is 5 mm; it must be from 20 to 2000 mm/.test(item), `the API's words, without its names: ${item}`)
    same((await sharpenings()).length, before.length + 1, 'what came after it')
    await page.getByRole('button', { name: 'Send it again' }).click()
    await page.getByText('Diameter is 5 mm').waitFor()
    await page.getByRole('button', { name: 'Discard it' }).click()
    await page.getByText('Nothing waits').waitFor()
    await page.locator('.banner').waitFor({ state: 'detached' })
  })
}

// With another engine everything is fetched anew; with the same one only what has changed.
async function otherEngine() {
  await opened(worker, async (page) => {
    const asked = []
    page.on('request', (r) => /:batchSolveSetups$/.test(r.url()) && asked.push(r.postDataJSON().items.length))
    await ready(page)
    const all = asked.reduce((a, b) => a + b, 0)
    same(all, await keptSetUps(page), 'set-ups fetched and kept')
    const count = () => asked.reduce((a, b) => a + b, 0)
    asked.length = 0
    await page.reload()
    await page.waitForTimeout(4000)
    same(count(), 0, 'fetched again though nothing has changed')
    const { wheels } = await api('/wheels')
    const { name, diameterMm } = wheels.find((w) => w.station === 'shops/main/stations/west')
    same((await api(`/wheels/${name.split('/').pop()}/measurements`, { diameterMm: diameterMm - 0.5 })).status, 200, 'a measurement')
    await page.reload()
    await until(() => count() === all / 3, 'set-ups of the station whose wheel was measured')
    asked.length = 0
    await page.route(/\/kiosk\/config\.json$/, (route) => route.fulfill({ json: { engineVersion: '99.0.0', publicUrl: '', secure: false } }))
    await page.reload()
    await until(() => count() === all, 'all set-ups of another engine')
    const engines = () => answers(page, (rows) => [...new Set(rows.filter(([key]) => key.startsWith('solve')).map(([, kept]) => kept.engine))])
    await until(async () => (await engines()).join() === '99.0.0', 'the engine of all that is kept')
  })
}

// A server with a newer page: it is fetched, takes over when the page is opened the next time, and the former files are gone.
async function otherPage() {
  let newer = ''
  const away = new URL(address)
  const proxy = createServer((req, res) => {
    const { 'if-none-match': ___, ...asked } = req.headers
    const on = request({ host: away.hostname, port: away.port, path: req.url, method: req.method, headers: { ...asked, 'accept-encoding': 'identity' } }, async (answer) => {
      if (!req.url.endsWith('/sw.js') || newer === '') return answer.pipe(res.writeHead(answer.statusCode, answer.headers))
      let text = ''
      for await (const part of answer) text += part
      const { 'content-length': _, etag: __, ...headers } = answer.headers
      res.writeHead(200, headers).end(text.replace(/arris-page-/, `arris-page-${newer}`))
    })
    on.on('error', () => res.destroy())
    res.on('close', () => on.destroy()) // what a browser that ended does not read would be held for ever
    req.pipe(on)
  })
  await new Promise((done) => proxy.listen(0, '127.0.0.1', done))
  const near = `http://127.0.0.1:${proxy.address().port}`
  try {
    await opened(worker, async (page, complaints) => {
      await page.goto(`${near}/kiosk/`)
      await page.evaluate(() => navigator.serviceWorker.ready)
      const shelves = () => page.evaluate(() => caches.keys())
      await until(async () => (await shelves()).length === 1, 'files kept')
      const [old] = await shelves()
      newer = 'n'
      await page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).update())
      await until(() => page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).waiting !== null), 'a newer page that waits')
      // A browser lets a worker with nothing to do end by itself; one that is watched by a test it keeps, and at times that one gives way only
      // at a later opening.
      const tools = await page.context().newCDPSession(page)
      await tools.send('ServiceWorker.enable')
      const alone = async () => (await shelves().catch(() => [])).join() === old.replace('arris-page-', 'arris-page-n')
      await until(async () => {
        await tools.send('ServiceWorker.stopAllWorkers')
        await page.reload().catch(() => {}) // the page may be going over to the newer one by itself just then
        for (let i = 0; i < 15 && !(await alone()); i++) await new Promise((done) => setTimeout(done, 200))
        return alone()
      }, 'the newer page alone')
      await page.locator('main > *').first().waitFor()
      complaints.splice(0, complaints.length, ...complaints.filter((c) => !c.startsWith(`asked another host: ${near}`)))
    })
  } finally {
    proxy.closeAllConnections()
    await new Promise((done) => proxy.close(done))
  }
}

// Somebody clears the browser's store while the page is open: it goes on, and fetches again.
async function cleared() {
  await opened(worker, async (page) => {
    await ready(page)
    const tools = await page.context().newCDPSession(page)
    await tools.send('Storage.clearDataForOrigin', { origin: address, storageTypes: 'all' })
    const before = await sharpenings()
    await at(page, `#/set-up/north/3?${bowl}`)
    same(flat(await page.locator('.number').innerText()).replace(/^[\d.]+/, 'n'), 'n mm', 'a number')
    await at(page, `#/set-up/north/log?${bowl}`)
    await page.getByRole('button', { name: /Hone/ }).click()
    await page.getByText('Logged.').waitFor()
    same((await sharpenings()).length, before.length + 1, 'sharpenings')
    await page.reload()
    await ready(page)
  })
}

async function withoutStore() {
  await opened(worker, async (page) => {
    await page.addInitScript(() => Object.defineProperty(window, 'indexedDB', { value: undefined }))
    const before = await sharpenings()
    await at(page, `#/set-up/north/1?${bowl}`)
    same(flat(await page.locator('.number').innerText()), '45.0 mm', 'a number')
    await at(page, `#/set-up/north/log?${bowl}`)
    await page.getByRole('button', { name: /Hone/ }).click()
    await page.getByText('Logged.').waitFor()
    same((await sharpenings()).length, before.length + 1, 'sharpenings')
    await at(page, '#/options')
    await page.getByText('No set-up is kept on this device yet').waitFor()
  })
}

// On plain http, with a name that is not this machine's own, the page works and says what is off.
async function plain() {
  const { port } = new URL(address)
  await opened({ ...worker, args: [...flags, '--host-resolver-rules=MAP kiosk.test 127.0.0.1'] }, async (page, complaints) => {
    await page.goto(`http://kiosk.test:${port}/kiosk/#/options`)
    await page.getByText('installing it and the camera are off').waitFor()
    await page.goto(`http://kiosk.test:${port}/kiosk/#/`)
    await page.locator('#code').waitFor()
    same(await page.getByRole('button', { name: 'Scan with the camera' }).count(), 0, 'a camera that browsers would not give')
    await page.goto(`http://kiosk.test:${port}/kiosk/#/set-up/north/1?${bowl}`)
    same(flat(await page.locator('.number').innerText()), '45.0 mm', 'a number')
    await page.goto(`http://kiosk.test:${port}/kiosk/#/set-up/north/log?${bowl}`)
    const before = await sharpenings()
    await page.getByRole('button', { name: /Hone/ }).click()
    await page.getByText('Logged.').waitFor()
    same((await sharpenings()).length, before.length + 1, 'sharpenings')
    complaints.splice(0, complaints.length, ...complaints.filter((c) => !c.startsWith('asked another host: http://kiosk.test')))
  })
}

// axe finds nothing, nothing is too small or cut off: with a banner, a date, an estimate, and entries that wait or were refused.
async function accessible() {
  const modes = [
    { look: 'light', language: 'en', large: false, view: tablet }, { look: 'dark', language: 'de', large: true, view: phone },
    { look: 'light', language: 'es', large: false, view: { width: 844, height: 390 } },
  ]
  for (const { view, look, ...mode } of modes) {
    await opened({ ...worker, bypassCSP: true, viewport: view, colorScheme: look }, async (page) => {
      await page.goto(`${address}/kiosk/`)
      await page.evaluate((m) => localStorage.setItem('arris.prefs', JSON.stringify(m)), mode)
      await ready(page)
      await page.context().setOffline(true)
      await write(page, { kind: 'wheel', about: 'shops/main/wheels/south-white', path: 'v1/shops/main/wheels/south-white/measurements', body: { diameterMm: 186 } })
      await write(page, { kind: 'lock', about: 'shops/main/stations/west', path: 'v1/shops/main/stations/west:lock', body: { lockReason: 'Wheel damaged' }, refused: 'shops/main/stations/west does not exist' })
      await page.reload()
      for (const route of ['#/', '#/waiting', '#/options', '#/station/west', `#/set-up/south/wheel?${bowl}`, `#/set-up/south/3?${bowl}`, `#/set-up/south/whole?${bowl}`, `#/set-up/south/what-if?${bowl}`]) {
        await at(page, route)
        await page.getByText(connectionless[mode.language]).filter({ visible: true }).first().waitFor()
        if (process.env.ARRIS_PICTURES) await page.screenshot({ path: `${process.env.ARRIS_PICTURES}/${mode.language}-${route.replace(/\W+/g, '-')}.png` })
        const found = await findings(page)
        same(found.join('\n'), '', `${route} (${look}, ${mode.language}, ${view.width}×${view.height})`)
      }
    })
  }
}

const connectionless = { en: /no connection/i, de: /keine Verbindung/i, es: /sin conexión/i }

/** write puts an entry where the page keeps those that wait. */
const write = (page, entry) => page.evaluate(async (made) => {
  const done = (r) => new Promise((yes, no) => { r.onsuccess = () => yes(r.result); r.onerror = () => no(r.error) })
  const db = await done(indexedDB.open('arris'))
  await done(db.transaction('outbox', 'readwrite').objectStore('outbox').add({ device: '0123456789abcdef', time: Date.now(), ...made }))
  db.close()
}, entry)

// Slow 4G as the developer tools have it (562.5 ms, 1.44 Mbit/s) and a processor at a quarter of its speed: a kept set-up's number within a second.
async function slow() {
  await opened({ ...worker, viewport: phone }, async (page) => {
    await page.addInitScript(() => {
      new MutationObserver((_, seen) => {
        if (!document.querySelector('.number')) return
        seen.disconnect()
        requestAnimationFrame(() => (window.numberAfter = performance.now()))
      }).observe(document, { childList: true, subtree: true })
    })
    await ready(page)
    const tools = await page.context().newCDPSession(page)
    await tools.send('Network.enable')
    await tools.send('Network.emulateNetworkConditions', { offline: false, latency: 562.5, downloadThroughput: (1440 * 1024 * 0.9) / 8, uploadThroughput: (675 * 1024 * 0.9) / 8 })
    await tools.send('Emulation.setCPUThrottlingRate', { rate: 4 })
    const took = []
    for (let n = 0; n < 5 && !(Math.min(...took) < 1000); n++) { // other work on the machine is not the page's
      await page.goto('about:blank')
      await page.goto(`${address}/kiosk/#/set-up/south/1?${bowl}`)
      await page.waitForFunction(() => window.numberAfter)
      took.push(await page.evaluate(() => window.numberAfter))
      if (n === 0) await page.locator('.as-of').waitFor({ state: 'detached', timeout: 30_000 }) // and then that of now
    }
    console.log(`    number on screen after ${took.map((ms) => ms.toFixed(0)).join(', ')} ms`)
    holds(Math.min(...took) < 1000, `the number came after ${took} ms`)
  })
}

const rig = (station) => ({ station: `shops/main/stations/${station}`, tool: 'shops/main/tools/bowl-gouge-12' })
const made_ = (step, s) => ({ stickOutMm: step.stickOut.setMm, legAngleDeg: step.legAngle.setDeg, ...(s.setBy === 'slide' ? { slideMm: s.slide.setMm } : { wheelGapMm: s.wheelGap.setMm }) })
const flat = (text) => text.replace(/\s+/g, ' ').replace(/ °/, '°').trim()
const fresh = (after, before) => after.filter((r) => !before.some((b) => b.name === r.name))
const signed = (deg, way) => (way === 'keener' ? -1 : 1) * Number(deg)
const measurements = async (wheel) => (await api(`/wheels/${wheel}/measurements?pageSize=1000`)).wheelMeasurements
const sharpenings = async () => (await api('/sharpenings?pageSize=1000')).sharpenings

function near(seen, wanted, by, what) {
  holds(Math.abs(seen - wanted) <= by, `${what}: seen ${seen}, wanted ${wanted} within ${by}`)
}

async function unlock(station) {
  const answer = await api(`/stations/${station}:unlock`, { unlockReason: 'wheel changed' })
  same(answer.status, 200, JSON.stringify(answer))
}

async function measure(page, wheel, keys, how = 'Across') {
  await at(page, `#/wheel/${wheel}`)
  await page.getByRole('button', { name: how, exact: true }).click()
  for (const key of keys) await page.getByRole('button', { name: key === '.' ? 'Decimal point' : key, exact: true }).click()
  await page.getByRole('button', { name: 'Keep this' }).click()
  await settled(page)
}

/** ready waits until the page is kept, and every set-up is. */
async function ready(page) {
  const { tools } = await api('/tools?pageSize=1000'), { stations } = await api('/stations')
  const wanted = tools.filter((t) => t.recipe).length * stations.filter((s) => s.state !== 'STATION_STATE_LOCKED').length
  holds(wanted > 20, `only ${wanted} set-ups to keep`)
  await at(page, '#/')
  await page.evaluate(() => navigator.serviceWorker.ready)
  await until(async () => (await keptSetUps(page)) >= wanted, `${wanted} set-ups kept`)
  await settled(page)
}

const keptSetUps = (page) => answers(page, (rows) => rows.filter(([key]) => key.startsWith('solve')).length)

/** answers gives what the page has kept to a function. */
export async function answers(page, read) {
  const rows = await page.evaluate(async () => {
    if (!(await indexedDB.databases()).some((d) => d.name === 'arris')) return []
    const done = (r) => new Promise((yes, no) => { r.onsuccess = () => yes(r.result); r.onerror = () => no(r.error) })
    const db = await done(indexedDB.open('arris'))
    const shelf = db.transaction('answers').objectStore('answers')
    const [keys, values] = await Promise.all([done(shelf.getAllKeys()), done(shelf.getAll())])
    db.close()
    return keys.map((key, i) => [key, { engine: values[i].engine, time: values[i].time }])
  })
  return read(rows)
}

export async function until(holds, what) {
  for (const end = Date.now() + 30_000; Date.now() < end; await new Promise((done) => setTimeout(done, 200))) if (await holds()) return
  throw new Error(`waited in vain for ${what}`)
}
