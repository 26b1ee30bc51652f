// What goes on beside the screens: the page is kept on the device, data are fetched while nobody waits, and what waits is sent.
import { busy } from '../api/http'
import { prefs } from '../prefs'
import { connection } from './connection'
import { outbox } from './outbox'

const quiet = 60_000 // ms without a touch: nobody is in the middle of something
const often = 5 * 60_000 // ms
const soon = 1500 // ms after what brought it about
const hour = 3_600_000 // ms

let timer = 0

/** start begins once the page is drawn. */
export function start(): void {
  void connection.check()
  void keepPage().catch(() => undefined) // it works without, while there is a connection
  fetchSoon()
  connection.addEventListener('change', fetchSoon)
  prefs.addEventListener('change', fetchSoon)
  outbox.addEventListener('change', fetchSoon)
  setInterval(() => {
    void connection.check()
    if (!document.hidden) fetchSoon()
  }, often)
}

// fetchSoon waits until things have settled, and nobody waits for anything.
function fetchSoon(): void {
  window.clearTimeout(timer)
  timer = window.setTimeout(() => {
    if (busy()) return fetchSoon()
    if (!connection.away) void import('./prefetch').then((p) => p.prefetch()).catch(() => undefined) // the next round tries again
  }, soon)
}

let touched = Date.now()

// keepPage has a worker keep the page's files. A newer page takes over when this one was just opened, or lies idle where jobs begin.
async function keepPage(): Promise<void> {
  const workers = navigator.serviceWorker as ServiceWorkerContainer | undefined
  if (!workers) return
  const had = workers.controller !== null
  const registration = await workers.register('sw.js', { updateViaCache: 'none' })
  workers.addEventListener('controllerchange', () => (had ? renew() : fetchSoon())) // from now on what is fetched is kept, also what reads codes
  const go = () => registration.waiting?.postMessage('go')
  for (const kind of ['pointerdown', 'keydown']) window.addEventListener(kind, () => (touched = Date.now()), { passive: true })
  go()
  setInterval(() => {
    if (between() && Date.now() - touched > quiet) go()
  }, quiet)
  const look = () => void registration.update().catch(() => undefined)
  connection.addEventListener('change', look)
  setInterval(look, hour)
  if (window.matchMedia('(display-mode: standalone)').matches) await navigator.storage?.persist?.() // elsewhere a browser may ask people
}

const between = () => location.hash.length <= 2

// renew goes over to the newer page: at once where jobs begin, else with the next step, which the address knows.
function renew(): void {
  if (between()) location.reload()
  else window.addEventListener('hashchange', () => location.reload(), { once: true })
}
