// How long a first and a second visit and a tap take on a slow network and a slow device. The figures are printed and never judged: they are the
// machine's as much as the page's; so is which request waited for which, told by their times. Judged is what is the same everywhere: bytes and requests.
//
// The network is the preset "Slow 4G" of Chromium's DevTools and the mobile preset of Lighthouse: 1.6 Mbit/s down, 750 kbit/s up, 150 ms there
// and back, with the processor slowed down four times (quoted from memory).
import { address, alone, at, holds, opened } from './browser.mjs'

const network = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 750e3 / 8 }
const slower = 4

const most = {
  bytes: 100_000, // of a first visit, as they come over the wire, heads of answers and icons aside
  requests: 24, // before the first number
}

const screens = { find: ['#/', '.tile'], wheel: ['#/set-up/north/wheel?tool=bowl-gouge-12', '.number'], step: ['#/set-up/north/2?tool=bowl-gouge-12', '.number'] }

export default async function quick() {
  for (const [name, [hash, sign]] of Object.entries(screens)) {
    await opened({}, async (page) => {
      const cdp = await slow(page)
      const first = await visit(page, cdp, hash, sign)
      report(name, first)
      judge(name, first)
      await page.goto('about:blank')
      console.log(`    ${name}, second visit: ${(await visit(page, cdp, hash, sign)).ms} ms to the first number`)
    })
  }
  await opened({}, async (page) => {
    await at(page, '#/set-up/north/what-if?tool=bowl-gouge-12')
    await slow(page)
    const more = page.locator('.stepper button:not([disabled])').last()
    const tapped = await more.evaluate((button) => new Promise((done) => {
      const shown = document.querySelector('.answer'), since = performance.now(), was = shown.textContent
      new MutationObserver((_, watch) => {
        if (shown.textContent === was || document.documentElement.dataset.asked !== '0') return
        watch.disconnect()
        requestAnimationFrame(() => done(performance.now() - since))
      }).observe(shown, { childList: true, subtree: true, characterData: true })
      button.click()
    }))
    console.log(`    what if, from tap to number: ${tapped.toFixed(0)} ms`)
  })
}

async function slow(page) {
  const cdp = await page.context().newCDPSession(page)
  await cdp.send('Network.enable')
  await cdp.send('Network.emulateNetworkConditions', network)
  await cdp.send('Emulation.setCPUThrottlingRate', { rate: slower })
  return cdp
}

/** visit opens a page and tells all requests that were made until its sign was seen. */
async function visit(page, cdp, hash, sign) {
  const asked = new Map()
  const note = (id, what) => asked.set(id, { ...asked.get(id), ...what })
  const listeners = {
    'Network.requestWillBeSent': (e) => note(e.requestId, { url: e.request.url.replace(address, ''), start: e.timestamp, kind: e.type }),
    'Network.responseReceived': (e) => note(e.requestId, { head: e.response.encodedDataLength, cached: e.response.fromDiskCache || e.response.fromPrefetchCache }),
    'Network.loadingFinished': (e) => note(e.requestId, { end: e.timestamp, bytes: e.encodedDataLength }),
  }
  for (const [name, listener] of Object.entries(listeners)) cdp.on(name, listener)
  const since = Date.now()
  await page.goto(`${address}/kiosk/${hash}`, { waitUntil: 'commit' })
  await page.locator(sign).first().waitFor({ timeout: 60_000 })
  const ms = Date.now() - since
  const before = [...asked.values()].filter(needed)
  await page.waitForLoadState('networkidle')
  for (const [name, listener] of Object.entries(listeners)) cdp.off(name, listener)
  const all = [...asked.values()].filter((r) => r.url.startsWith('/'))
  return { ms, before, all, chain: chain(before.filter((r) => !r.url.endsWith('.woff2'))) }
}

/** chain is how many requests at most came one after the end of another. */
function chain(requests) {
  const deep = (r) => 1 + Math.max(0, ...requests.filter((o) => o.end !== undefined && o.end <= r.start).map(deep))
  return Math.max(...requests.map(deep))
}

// What the browser wants for itself holds nothing up.
const needed = (r) => r.url.startsWith('/') && !/icons|manifest/.test(r.url)
const page = (r) => r.url.startsWith('/kiosk/') && needed(r)
const bytes = (requests) => requests.filter((r) => !r.cached).reduce((sum, r) => sum + Math.max(0, (r.bytes ?? 0) - (r.head ?? 0)), 0)

function report(what, { ms, before, all, chain }) {
  console.log(`    ${what}, first visit: ${ms} ms to the first number, after ${before.length} requests in a chain of ${chain}; ${(bytes(all) / 1000).toFixed(1)} kB in all, ${(bytes(all.filter(page)) / 1000).toFixed(1)} kB of it the page`)
}

function judge(name, { before }) {
  const list = before.map((r) => `\n      ${r.start?.toFixed(2)}–${r.end?.toFixed(2)} ${r.url}`).join('')
  holds(bytes(before.filter(page)) <= most.bytes, `${name}: a first visit fetches ${bytes(before.filter(page))} bytes of the page before its first number, more than ${most.bytes}`)
  holds(before.length <= most.requests, `${name}: ${before.length} requests before the first number, more than ${most.requests}:${list}`)
}

await alone(import.meta.url, quick)
