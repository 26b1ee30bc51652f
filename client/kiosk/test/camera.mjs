// The camera, in a browser that has none of its own detectors: what it sees is a film, made here of our own labels and sheets as a tablet held by
// hand sees them: askew, out of focus, grainy and badly lit.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { address, alone, at, flags, holds, opened, phone, same, settled, shop } from './browser.mjs'
import { until } from './offline.mjs'
import * as paper from './paper.mjs'

const folder = mkdtempSync(join(tmpdir(), 'films-'))
const size = { width: 1280, height: 720 } // what cheap tablets have

const parts = [label, sheet, barcode, nothingKnown, middle, closed, ownDetector, denied, without, offline]

/** Only parts that are named: ARRIS_PARTS=label,sheet while one of them is worked on. */
export default async function camera() {
  try {
    const films = await filmed()
    for (const part of parts.filter((p) => !process.env.ARRIS_PARTS || process.env.ARRIS_PARTS.split(',').includes(p.name))) {
      const start = Date.now()
      try {
        await part(films)
      } catch (e) {
        e.message = `${part.name}: ${e.message}`
        throw e
      }
      console.log(`    ${part.name}: ${((Date.now() - start) / 1000).toFixed(1)} s`)
    }
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

// ---- films

/** filmed makes a film of each scene: what is drawn, how large, and how it is held. */
async function filmed() {
  const gouge = await paper.label('tools/bowl-gouge-12'), skew = await paper.label('tools/skew-25')
  const scenes = {
    label: [{ svg: gouge, mm: [62, 29], perMm: 8, centre: [13, 14.5] }],
    sheet: [{ svg: await paper.sheet('north', 'bowl-gouge-12'), mm: [210, 297], perMm: 10, centre: [184, 18] }],
    barcode: [{ svg: await paper.written('T-0042', 'Code128'), mm: [50, 15], perMm: 8, centre: [25, 7.5] }],
    unknown: [{ svg: await paper.written('https://elsewhere.example/nothing/of/ours', 'QRCode'), mm: [30, 30], perMm: 8, centre: [15, 15] }],
    two: [{ svg: gouge, mm: [62, 29], perMm: 7, centre: [13, 43.5] }, { svg: skew, mm: [62, 29], perMm: 7, centre: [13, 14.5] }],
  }
  const films = {}
  await opened({ bypassCSP: true }, async (page) => {
    await page.goto(`${address}/kiosk/manifest.webmanifest`) // a page of nothing, where scripts may draw
    for (const [name, things] of Object.entries(scenes)) {
      const frames = await page.evaluate(draw, { things, size })
      films[name] = join(folder, `${name}.mjpeg`)
      writeFileSync(films[name], Buffer.concat(frames.map((f) => Buffer.from(f.split(',')[1], 'base64'))))
    }
  })
  return films
}

// draw runs in the page: the frames of a film, as data addresses.
async function draw({ things, size }) {
  const blank = (width, height) => {
    const pen = Object.assign(document.createElement('canvas'), { width, height }).getContext('2d', { willReadFrequently: true })
    pen.fillStyle = '#8a7350' // a bench
    pen.fillRect(0, 0, width, height)
    return pen
  }
  const still = blank(1.5 * size.width, 1.5 * size.height) // all that lies there, as it is
  still.translate(0.75 * size.width, 0.75 * size.height)
  for (const { svg, mm, perMm, centre } of things) {
    const picture = new Image()
    picture.src = `data:image/svg+xml;base64,${btoa(unescape(encodeURIComponent(svg)))}`
    await picture.decode()
    still.drawImage(picture, -centre[0] * perMm, -centre[1] * perMm, mm[0] * perMm, mm[1] * perMm)
  }
  const grain = blank(256, 256), grains = grain.getImageData(0, 0, 256, 256)
  for (let i = 0, seed = 7; i < grains.data.length; i += 4) grains.data.fill((seed = (seed * 16807) % 2147483647) & 255, i, i + 3)
  grain.putImageData(grains, 0, 0)
  const frames = []
  for (let n = 0; n < 4; n++) {
    const pen = blank(size.width, size.height)
    pen.filter = 'blur(1.1px)'
    pen.translate(size.width / 2 + 6 * Math.sin(n), size.height / 2 + 6 * Math.cos(n)) // a hand
    pen.rotate(0.22 + 0.02 * Math.sin(n))
    pen.transform(1, 0.06, -0.1, 0.93, 0, 0) // tilted away
    pen.drawImage(still.canvas, -0.75 * size.width, -0.75 * size.height)
    pen.setTransform(1, 0, 0, 1, 0, 0)
    pen.filter = 'none'
    pen.fillStyle = pen.createLinearGradient(0, 0, size.width, size.height)
    pen.fillStyle.addColorStop(0, 'rgb(0 0 0 / 10%)')
    pen.fillStyle.addColorStop(1, 'rgb(0 0 0 / 55%)')
    pen.fillRect(0, 0, size.width, size.height)
    pen.globalCompositeOperation = 'overlay'
    pen.globalAlpha = 0.25
    pen.translate(97 * n, 41 * n)
    pen.fillStyle = pen.createPattern(grain.canvas, 'repeat')
    pen.fillRect(-97 * n, -41 * n, size.width, size.height)
    frames.push(pen.canvas.toDataURL('image/jpeg', 0.85))
  }
  return frames
}

// ---- what the camera does

const sees = (film, more = {}) => ({
  args: [...flags, '--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream', `--use-file-for-fake-video-capture=${film}`], ...more,
})

/** watched notes every stream that the page is given, so that it can be told whether the light is on. */
const watched = (page) => page.addInitScript(() => {
  window.streams = []
  window.calls = 0
  const ask = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices)
  navigator.mediaDevices.getUserMedia = async (wanted) => {
    window.calls++
    const stream = await ask(wanted)
    window.streams.push(stream)
    return stream
  }
})
const light = (page) => page.evaluate(() => window.streams.flatMap((s) => s.getTracks()).filter((track) => track.readyState === 'live').length)

async function open(page) {
  await page.getByRole('button', { name: 'Scan with the camera' }).click()
  await page.getByRole('dialog').waitFor()
}

async function runs(page) {
  await page.waitForFunction(() => document.querySelector('.scanner video')?.currentTime > 0)
  same(await light(page), 1, 'cameras that are on while it looks')
}

async function label({ label }) {
  await opened(sees(label), async (page) => {
    await watched(page)
    await at(page, '#/')
    const taps = []
    const tap = async (role, name) => {
      taps.push(String(name))
      await page.getByRole(role, { name }).first().click()
    }
    const start = Date.now()
    await tap('button', 'Scan with the camera')
    await page.waitForURL(/#\/tool\/bowl-gouge-12$/)
    const read = Date.now() - start
    await settled(page)
    same(await light(page), 0, 'cameras that are on after a code was read')
    same(await page.locator('k-scanner').count(), 0, 'the scanner after a code was read')
    await tap('link', /North/)
    await tap('link', 'It is right')
    await page.getByRole('heading', { name: 'Stick-out' }).waitFor()
    same((await page.locator('.number').innerText()).replace(/\s+/g, ' '), '45.0 mm', 'the first number')
    holds(taps.length <= 3, `${taps.length} taps from scan to first number: ${taps.join(', ')}`)
    console.log(`    ${taps.length} taps from scan to first number (${taps.join(', ')}); read ${read} ms after the first`)
    await page.goBack()
    await page.goBack()
    await page.goBack()
    await page.waitForURL(/#\/$/) // and not once more through the code
  })
}

async function sheet({ sheet }) {
  await opened(sees(sheet), async (page) => {
    await at(page, '#/')
    await open(page)
    await page.waitForURL(/#\/sheet\?shop=main&recipe=bowl-50%2F1|#\/sheet\?shop=main&recipe=bowl-50\/1/)
    await page.getByRole('heading', { name: 'This sheet still holds' }).waitFor()
  })
}

// What other systems stick on tools is read too.
async function barcode({ barcode }) {
  const answer = await fetch(`${shop}/tools/scraper-25`, {
    method: 'PATCH', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ externalIds: [{ system: 'inventory', value: 'T-0042' }] }),
  })
  same(answer.status, 200, 'another name for a tool')
  await opened(sees(barcode, { viewport: phone }), async (page) => {
    await at(page, '#/')
    await open(page)
    await page.waitForURL(/#\/tool\/scraper-25$/)
  })
}

async function nothingKnown({ unknown }) {
  await opened(sees(unknown), async (page) => {
    await watched(page)
    await at(page, '#/')
    await open(page)
    await page.locator('main .lead, main .empty').first().waitFor()
    const told = await page.locator('main').innerText()
    holds(/https:\/\/elsewhere\.example\/nothing\/of\/ours/.test(told), `what is said of a code of nothing known: ${told}`)
    same(await page.locator('#code').inputValue(), 'https://elsewhere.example/nothing/of/ours', 'what was read')
    same(await light(page), 0, 'cameras that are on')
  })
}

// Of two labels in the picture it is the one in the middle.
async function middle({ two }) {
  await opened(sees(two), async (page) => {
    await at(page, '#/')
    await open(page)
    await page.waitForURL(/#\/tool\//)
    same(new URL(page.url()).hash, '#/tool/skew-25', 'the one in the middle')
  })
}

const plain = (more = {}) => ({ args: [...flags, '--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream'], ...more }) // sees no code

// However it is closed, the light goes out: by its button, by the key, by going elsewhere, by another program in front, by somebody taking it away.
async function closed() {
  await opened(plain(), async (page) => {
    await watched(page)
    await at(page, '#/')
    const ways = {
      button: () => page.getByRole('button', { name: 'Close' }).click(),
      key: () => page.keyboard.press('Escape'),
      hidden: () => page.evaluate(() => {
        Object.defineProperty(document, 'hidden', { configurable: true, get: () => true })
        document.dispatchEvent(new Event('visibilitychange'))
        delete document.hidden
      }),
      elsewhere: () => page.evaluate(() => (location.hash = '#/options')),
    }
    for (const [name, close] of Object.entries(ways)) {
      await open(page)
      await runs(page)
      if (name === 'button') await page.getByText('Nothing read yet. Go nearer').waitFor() // what helps is said after a while
      await close()
      await page.locator('k-scanner').waitFor({ state: 'detached' })
      same(await light(page), 0, `cameras that are on after it was closed by ${name}`)
    }
    await at(page, '#/')
    await open(page)
    await page.evaluate(() => (location.hash = '#/options')) // before there is a picture
    await page.getByRole('heading', { name: 'Options' }).waitFor()
    await page.waitForFunction(() => window.streams.length === window.calls)
    await until(async () => (await light(page)) === 0, 'a camera that came too late to go out')

    await at(page, '#/')
    await open(page)
    await runs(page)
    await page.evaluate(() => window.streams.at(-1).getTracks()[0].dispatchEvent(new Event('ended')))
    await page.getByRole('alert').getByText('The camera was taken away').waitFor()
    await page.getByRole('button', { name: 'Try again' }).click()
    await runs(page)
  })
}

// Where the browser has a detector, that is used, and nothing is fetched; one that reads no QR codes, or fails, is passed over.
async function ownDetector({ label }) {
  const cases = [
    [['qr_code', 'ean_13', 'aztec'], 'T.SKEW-25.Q', '#/tool/skew-25', 0, 'qr_code,ean_13'], // it reads what the film does not show
    [['ean_13'], 'T.SKEW-25.Q', '#/tool/bowl-gouge-12', 1, ''],
    [['qr_code'], '', '#/tool/bowl-gouge-12', 0, 'qr_code'], // what was fetched is there still
  ]
  await opened(sees(label), async (page) => {
    const fetched = []
    page.on('request', (r) => r.url().endsWith('.wasm') && fetched.push(r.url()))
    for (const [formats, answer, where, fetches, asked] of cases) {
      fetched.length = 0
      await at(page, '#/')
      await page.evaluate(pretend, [formats, answer])
      await open(page)
      await page.waitForURL(/#\/tool\//)
      same(new URL(page.url()).hash, where, `by a detector for ${formats}`)
      same(fetched.length, fetches, `programs fetched beside a detector for ${formats}`)
      same(await page.evaluate(() => window.asked.join()), asked, `what a detector for ${formats} was asked for`)
    }
  })
}

// pretend runs in the page: the browser has a detector for some formats, which sees one code in every picture, or fails.
function pretend([formats, answer]) {
  window.asked = []
  window.BarcodeDetector = class {
    static getSupportedFormats = async () => formats
    constructor(options) {
      window.asked.push(...options.formats)
    }
    async detect(picture) {
      if (!answer || !(picture instanceof ImageData) || picture.width < 300) throw new DOMException('Barcode detection service unavailable.', 'NotSupportedError')
      return [{ rawValue: answer, cornerPoints: [{ x: 0, y: 0 }] }]
    }
  }
}

async function denied({ label }) {
  await opened({ args: [...flags, '--deny-permission-prompts', '--use-fake-device-for-media-stream', `--use-file-for-fake-video-capture=${label}`] }, async (page) => {
    await watched(page)
    await at(page, '#/')
    await open(page)
    await page.getByRole('alert').getByText('This page may not use the camera').waitFor()
    await page.getByRole('button', { name: 'Try again' }).click()
    await page.waitForFunction(() => window.calls === 2)
    await page.getByRole('alert').getByText('This page may not use the camera').waitFor()
    await page.getByRole('button', { name: 'Close' }).click()
    await stillTyped(page)
    // Allowed after all.
    await at(page, '#/')
    await open(page)
    await page.getByRole('alert').waitFor()
    await page.context().grantPermissions(['camera'])
    await page.getByRole('button', { name: 'Try again' }).click()
    await page.waitForURL(/#\/tool\/bowl-gouge-12$/)
    same(await light(page), 0, 'cameras that are on')
  })
}

async function without() {
  await opened({ args: [...flags, '--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream=device-count=0'] }, async (page) => {
    await at(page, '#/')
    await open(page)
    await page.getByRole('alert').getByText('No camera was found on this device').waitFor()
    await page.getByRole('button', { name: 'Close' }).click()
    await stillTyped(page)
  })
}

async function stillTyped(page) {
  await page.locator('#code').fill('T.SKEW-25.Q')
  await page.keyboard.press('Enter')
  await page.waitForURL(/#\/tool\/skew-25$/)
}

// What was fetched while idle reads codes without a connection, though the camera was never opened before. Where it was not fetched, that is said.
async function offline({ label }) {
  await opened(sees(label, { serviceWorkers: 'allow' }), async (page) => {
    await at(page, '#/')
    const kept = () => page.evaluate(async () => {
      const shelves = await Promise.all((await caches.keys()).map((name) => caches.open(name)))
      return (await Promise.all(shelves.map((shelf) => shelf.keys()))).flat().some((r) => r.url.endsWith('.wasm'))
    })
    await until(kept, 'what reads codes to be kept while nobody asks for anything')
    await page.evaluate(() => navigator.serviceWorker.ready)
    await page.context().setOffline(true)
    await page.reload()
    await page.getByText('No connection').waitFor()
    await open(page)
    await page.waitForURL(/#\/tool\/bowl-gouge-12$/)
    await page.getByRole('link', { name: /North/ }).first().click()
    await page.getByRole('link', { name: 'It is right' }).click()
    await page.getByText('45.0').first().waitFor()
  })
  await opened(sees(label), async (page) => {
    await at(page, '#/')
    await page.route(/\.wasm$/, (route) => route.abort())
    await open(page)
    await page.getByRole('alert').getByText('the server cannot be reached').waitFor()
    await page.unroute(/\.wasm$/)
    await page.getByRole('button', { name: 'Try again' }).click()
    await page.waitForURL(/#\/tool\/bowl-gouge-12$/)
  })
}

await alone(import.meta.url, camera)
