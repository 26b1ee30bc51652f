// Debian's Chromium with a fresh profile, and the page in it. ARRIS_URL says where the server is; CHROMIUM which browser.
import { mkdtempSync, realpathSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { chromium } from 'playwright-core'

export const address = (process.env.ARRIS_URL ?? 'http://127.0.0.1:8480').replace(/\/$/, '')
export const shop = `${address}/v1/shops/main`

export const flags = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync']

const patience = 30_000 // ms: what is waited for comes at once where nothing else is to be done, and much later where tests of other packages run

export const tablet = { width: 1024, height: 768 }
export const phone = { width: 390, height: 844 }

/** opened starts a browser, gives a page of it to what is to be done, and ends it. Anything the page writes as an error is a failure. */
export async function opened(options, job) {
  const profile = mkdtempSync(join(tmpdir(), 'kiosk-'))
  const launch = () => chromium.launchPersistentContext(profile, {
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', headless: true, args: flags, viewport: tablet, locale: 'en-GB', hasTouch: true, serviceWorkers: 'block', ...options,
  })
  const context = await launch().catch(launch).catch((failed) => { // one in hundreds of browsers ends while it starts
    rmSync(profile, { recursive: true, force: true })
    throw failed
  })
  context.setDefaultTimeout(patience)
  const page = context.pages()[0] ?? (await context.newPage())
  const complaints = []
  page.on('pageerror', (e) => complaints.push(`${e}`))
  page.on('console', (m) => {
    if (m.type() === 'error' && !/Failed to load resource/.test(m.text())) complaints.push(m.text())
  })
  page.on('request', (r) => {
    if (!r.url().startsWith(address) && !/^(blob|data):/.test(r.url())) complaints.push(`asked another host: ${r.url()}`)
  })
  try {
    await job(page, complaints)
    if (complaints.length > 0) throw new Error(`the page complained:\n  ${complaints.join('\n  ')}`)
  } finally {
    for (const routes of [context, page]) await routes.unrouteAll({ behavior: 'ignoreErrors' }).catch(() => undefined) // an answer still on its way to a page that ends is nobody's
    await context.close().catch(() => undefined)
    rmSync(profile, { recursive: true, force: true })
  }
}

/** at opens a screen by its address. */
export async function at(page, hash) {
  await page.goto(`${address}/kiosk/${hash}`)
  await page.locator('main > *').first().waitFor()
  await settled(page)
}

/** settled waits until what was begun is drawn, and nothing is on its way. */
export async function settled(page) {
  const drawn = () => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => setTimeout(done))))
  await drawn()
  await page.waitForFunction(() => (document.documentElement.dataset.asked ?? '0') === '0')
  await drawn()
}

/** api asks the server itself. */
export async function api(path, body) {
  const answer = await fetch(shop + path, body ? { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) } : {})
  return { status: answer.status, ...(await answer.json()) }
}

export function same(seen, wanted, what) {
  if (seen !== wanted) throw new Error(`${what}: seen ${JSON.stringify(seen)}, wanted ${JSON.stringify(wanted)}`)
}

/** becomes waits until the server has what the page, which is sure of it, says already. */
export async function becomes(seen, wanted, what) {
  for (const end = Date.now() + patience; Date.now() < end && (await seen()) !== wanted; ) await new Promise((done) => setTimeout(done, 100))
  same(await seen(), wanted, what)
}

/** refusedAs holds that a refusal is the API's, word for word, but for names of records and fields: people read none of those, and every number. */
export function refusedAs(said, message, what) {
  const flat = (words) => words.replace(/\s+/g, ' ').replace(/\.$/, '').trim().toLowerCase()
  const names = /shops\/[a-z0-9-]+\/[a-z]+\/|\b[a-z]\w*(\.[a-z]\w*|\[\d+\])+|\b[a-z]\w*_(mm|deg)\b/g
  const left = flat(said), wanted = flat(message)
  holds(!/shops\/|\w_\w|\]\.|\w\[\d/.test(left), `${what}: names of the API are shown: ${said}`)
  if (wanted.replace(names, '') === wanted) return same(left, wanted, what)
  const numbers = (words) => (words.replace(names, '').match(/\d+([.,]\d+)?/g) ?? []).join(' ')
  same(numbers(left), numbers(wanted), `${what}: the numbers of ${message}`)
}

export function holds(condition, what) {
  if (!condition) throw new Error(what)
}

/** alone runs a test where its script was called by itself, as `node test/day.mjs`, and not by all.mjs. */
export async function alone(script, test) {
  if (realpathSync(process.argv[1]) === fileURLToPath(script)) await test()
}
