// While nobody asks for anything, what a day needs is fetched: the shop's records, and the set-up of every tool with a recipe on every station
// in service. A set-up is fetched again when something it rests on has changed, the engine is another, or it is a day old.
import { call, Problem, refusalOf } from '../api/http'
import { id, list, num, text } from '../api/read'
import * as shop from '../api/shop'
import type { Holder, Recipe, Setup, SolveRequest, Station, Tool, Wheel } from '../api/types'
import { requestOf } from '../job'
import { recent } from '../memory'
import { builtIn } from '../parts/detector'
import { canScan } from '../parts/device'
import { prefs } from '../prefs'
import { isLocked, mounted } from '../tiles'
import { remember } from './answers'
import { connection } from './connection'
import { use } from './store'

const batch = 50 // set-ups of a call: others are served in between
const most = 4000 // set-ups: some 40 MB
const day = 24 * 3600 * 1000 // ms
const kept = 14 * day // that nobody asked for, nor was fetched again
const quiet = { quiet: true, patience: 60_000 }

interface Wanted {
  key: string
  request: SolveRequest
  /** What its answer rests on. */
  print: string
}

type Prints = Record<string, { print: string; time: number }>

/** prefetch does what is left to do; in one tab at a time. */
export async function prefetch(): Promise<void> {
  if (!(await connection.check())) return
  if (navigator.locks) await navigator.locks.request('arris.prefetch', { ifAvailable: true }, async (mine) => void (mine && (await fetchAll())))
  else await fetchAll()
}

async function fetchAll(): Promise<void> {
  const fact = `prefetched ${prefs.shop}`
  const prints = await use(async (store) => ((await store.get('facts', fact)) as Prints | undefined) ?? {})
  if (!prints) return // nothing can be kept here
  const wanted = await everything()
  const todo = wanted.filter((w) => prints[w.key]?.print !== w.print || Date.now() - prints[w.key]!.time > day)
  for (let i = 0; i < todo.length && !connection.away; i += batch) {
    const some = todo.slice(i, i + batch)
    await solveAll(some)
    for (const { key, print } of some) prints[key] = { print, time: Date.now() }
    const written = await use((store) => store.put('facts', prints, fact))
    if (!written) return // it is full
    await idle()
  }
  await tidy()
  await keepDecoder()
}

// everything is what a day may ask for, what was used lately first.
async function everything(): Promise<Wanted[]> {
  const [tools, recipes, stations, wheels, holders] = await Promise.all([
    shop.all<Tool>('tools', quiet), shop.all<Recipe>('recipes', quiet), shop.all<Station>('stations', quiet), shop.all<Wheel>('wheels', quiet), shop.all<Holder>('holders', quiet),
    shop.all('gauges', quiet), shop.lately(quiet), shop.shops(quiet),
  ])
  const used = recent()
  const rank = (tool: Tool) => (used.indexOf(`tools/${id(tool.name)}`) + 1 || used.length + 1)
  const pairs = tools.filter((tool) => text(tool.recipe)).sort((a, b) => rank(a) - rank(b))
    .flatMap((tool) => stations.filter((s) => !isLocked(s)).map((station) => ({ tool, station }))).slice(0, most)
  const tags = new Map(recipes.map((r) => [text(r.name), text(r.etag)])), held = holders.map((h) => text(h.etag)).join()
  return await Promise.all(pairs.map(async ({ tool, station }) => {
    const request = await requestOf({ station: id(station.name), tool: id(tool.name), recipe: '' })
    const wheel = mounted(wheels, station)
    const print = [connection.engine, tool.etag, station.etag, wheel?.name, wheel?.etag, tags.get(text(tool.recipe)), held].join(' ')
    return { key: shop.solveKey(request), request, print }
  }))
}

interface Result {
  key?: string
  setup?: Setup
  error?: { code?: number; message?: string }
}

async function solveAll(some: Wanted[]): Promise<void> {
  const results = await shop.inWords(async (wording) => {
    const items = some.map(({ request }, i) => ({ key: String(i), request: { ...request, wording } }))
    const answer = await call<{ results?: Result[] }>('POST', `v1/${shop.shop()}:batchSolveSetups`, { items }, quiet)
    const results = list(answer.results)
    const unspoken = results.map(refused).find((p) => p?.fields.some((f) => f.endsWith('language_code')))
    if (unspoken) throw unspoken
    return results
  })
  await Promise.all(results.map((result, i) => {
    const problem = refused(result), wanted = some[num(Number(result.key)) ?? i]
    const outcome = problem ? { problem } : result.setup && typeof result.setup === 'object' ? { value: result.setup } : undefined
    return wanted && outcome ? remember(wanted.key, outcome) : undefined
  }))
}

// An item is refused with the status that a call of its own would be refused with; passing trouble is no answer.
const refused = ({ error }: Result): Problem | undefined => (error && typeof error === 'object' ? refusalOf(400, error) : undefined)

function tidy(): Promise<unknown> {
  return use(async (store) => {
    const tx = store.transaction('answers', 'readwrite')
    for await (const old of tx.store.index('time').iterate(IDBKeyRange.upperBound(Date.now() - kept))) await old.delete()
  })
}

let hasDecoder = false

// What the camera's codes are read with is for bad days too. It is 320 kB over the wire, so only a browser that needs it fetches it, when all else
// is there; asked for again with the next page, the browser's own store has it still.
async function keepDecoder(): Promise<void> {
  if (hasDecoder || !canScan() || !navigator.serviceWorker?.controller || (await builtIn())) return
  await (await import('../parts/decoder')).fetched()
  hasDecoder = true
}

const idle = () => new Promise<unknown>((done) => (typeof requestIdleCallback === 'function' ? requestIdleCallback(done, { timeout: 2000 }) : setTimeout(done, 200)))
