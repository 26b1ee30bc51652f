// Keeps the page's own files on the device, so that it opens without a connection. The build writes into it which files there are; it never
// touches the API's answers.
declare const FILES: readonly string[]
declare const LATE: readonly string[] // kept when the page asks for them
declare const VERSION: string

const worker = self as unknown as ServiceWorkerGlobalScope
const shelf = `arris-page-${VERSION}`
const scope = new URL(worker.registration.scope)
const hashed = /[-.][A-Z2-7]{8}\./

worker.addEventListener('install', (e) => e.waitUntil(fill()))
worker.addEventListener('activate', (e) => e.waitUntil(begin()))

// The page says when it may be replaced: between two jobs.
worker.addEventListener('message', (e) => {
  if (e.data === 'go') void worker.skipWaiting()
})

worker.addEventListener('fetch', (e) => {
  const url = new URL(e.request.url)
  if (e.request.method !== 'GET' || url.origin !== scope.origin || !url.pathname.startsWith(scope.pathname)) return
  const file = url.pathname.slice(scope.pathname.length) || 'index.html'
  if (FILES.includes(file)) e.respondWith(kept(file, e.request))
  else if (LATE.includes(file)) e.respondWith(keptFromNow(file, e.request))
})

// A name by its content never means anything else; the others are asked for past what the browser kept.
async function fill(): Promise<void> {
  const cache = await caches.open(shelf)
  await cache.addAll(FILES.map((file) => new Request(file, { cache: hashed.test(file) ? 'default' : 'reload' })))
}

async function begin(): Promise<void> {
  for (const old of await caches.keys()) if (old.startsWith('arris-page-') && old !== shelf) await caches.delete(old)
  await worker.clients.claim()
}

// A shelf that a newer worker took away stays away: to match by its name makes none, and to open it would.
async function kept(file: string, request: Request): Promise<Response> {
  return (await caches.match(file, { cacheName: shelf })) ?? (await fetch(request))
}

// The shelf fetches by itself: what a page asks for ends with that page, and a worker that waits for the rest gives way to no newer one.
async function keptFromNow(file: string, request: Request): Promise<Response> {
  if (!(await caches.match(file, { cacheName: shelf })) && (await caches.has(shelf))) await (await caches.open(shelf)).add(file).catch(() => undefined)
  return await kept(file, request)
}
