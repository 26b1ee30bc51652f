// Questions are asked over the network, and answered from what was kept where that fails or takes too long. What was kept is marked with its
// date; when a newer answer comes after all, `news` tells.
import { Problem, problemOf } from '../api/http'
import { list, text } from '../api/read'
import type { Way } from '../api/types'
import { connection } from './connection'
import { use, type Kept } from './store'

const patience = 150 // ms that a kept answer waits for a new one
const slowFor = 30_000 // ms that a slow network is taken to be slow
const lateFor = 15_000 // ms that an answer counts which came after a kept one was shown
const most = 200 // answers that are remembered

type Outcome = { value: object } | { problem: Problem }

interface Asked {
  outcome: Promise<Outcome>
  since: number
  late: boolean
}

const asked = new Map<string, Asked>()
const marks = new WeakMap<object, Kept>()
let slowUntil = 0
let changed = 0

/** news: something newer came than what is shown. */
export const news = new EventTarget()

let told = false

export function tellNews(): void {
  if (told) return
  told = true
  setTimeout(() => {
    told = false
    news.dispatchEvent(new Event('news'))
  })
}

/** asOf is since when an answer is kept; nothing of one that was just given. */
export const asOf = (value: object | undefined): Kept | undefined => (value ? marks.get(value) : undefined)

// What came just before the server went is what was kept: it is asked for once more, and marked with its date.
connection.addEventListener('change', () => {
  if (connection.away) asked.clear()
})

/** forget has everything asked anew: something was changed, and what was kept before counts only where there is no connection. */
export function forget(): void {
  asked.clear()
  changed = Date.now()
}

interface Keeping {
  /** For how long the last answer counts as new, in ms. */
  fresh?: number
  /** The question whose kept answer holds this one. */
  under?: string
  /** Whether the answer is kept. */
  keep?: boolean
}

/** answered is the answer of now, or the kept one. */
export async function answered<T extends object>(key: string, ask: () => Promise<T>, { fresh = 0, under = key, keep = true }: Keeping = {}): Promise<T> {
  const mine = known(key, fresh) ?? begin(key, ask, keep)
  const quick = await Promise.race([mine.outcome, pause(connection.away || Date.now() < slowUntil ? 0 : patience)])
  if (quick && !passes(quick)) return opened<T>(quick)
  const was = await kept(under)
  if (was && (quick || connection.away || was.time > changed)) {
    if (!quick) follow(mine)
    return marked<T>(was)
  }
  const slow = await mine.outcome
  return was && passes(slow) ? marked<T>(was) : opened<T>(slow)
}

function known(key: string, fresh: number): Asked | undefined {
  const one = asked.get(key)
  return one && Date.now() - one.since < (one.late ? lateFor : fresh) ? one : undefined
}

function begin(key: string, ask: () => Promise<object>, keep: boolean): Asked {
  if (asked.size > most) asked.clear()
  const outcome = ask().then((value): Outcome => ({ value }), (thrown: unknown): Outcome => ({ problem: problemOf(thrown) }))
  const one = { outcome, since: Date.now(), late: false }
  asked.set(key, one)
  void outcome.then((o) => {
    if (passes(o)) asked.delete(key)
    else if (keep) void remember(key, o)
  })
  return one
}

// follow tells when the answer comes that was not waited for.
function follow(one: Asked): void {
  slowUntil = Date.now() + slowFor
  if (one.late) return
  one.late = true
  void one.outcome.then((o) => {
    one.since = Date.now()
    if (!passes(o)) tellNews()
  })
}

const passes = (o: Outcome) => 'problem' in o && o.problem.passing
/** pause ends after a while, with nothing. */
export const pause = (ms: number) => new Promise<undefined>((done) => setTimeout(() => done(undefined), ms))

function opened<T extends object>(o: Outcome): T {
  if ('problem' in o) throw o.problem
  return o.value as T
}

function marked<T extends object>(was: Kept): T {
  const { value, refusal } = was
  if (!value) throw new Problem('refused', text(refusal?.message, 1000), refusal?.reason, refusal?.fields, list(refusal?.ways as Way[] | undefined))
  marks.set(value, was)
  return value as T
}

/** remember keeps an answer, or the refusal. */
export async function remember(key: string, o: Outcome): Promise<unknown> {
  if (!connection.engine) await connection.check()
  const now = { time: Date.now(), engine: connection.engine }
  if ('value' in o) return await use((store) => store.put('answers', { value: o.value, ...now }, key))
  const { message, reason, fields, ways } = o.problem
  return await use((store) => store.put('answers', { refusal: { message, reason, fields: [...fields], ways: [...ways] }, ...now }, key))
}

/** Between a question and how it is worded. */
export const wordedAs = '\n'

// kept is the last answer; else the same in other words, or what a list said of a record.
function kept(key: string): Promise<Kept | undefined> {
  return use(async (store) => {
    const same = await store.get('answers', key)
    if (same) return same
    const [question = ''] = key.split(wordedAs)
    const others = await store.getAll('answers', startingWith(question + wordedAs))
    return others.sort((a, b) => b.time - a.time)[0] ?? inList(key, await store.getAll('answers', startingWith(key.replace(/\/[^/]*$/, '?'))))
  })
}

const startingWith = (start: string) => IDBKeyRange.bound(start, start + '\uffff')

function inList(name: string, lists: Kept[]): Kept | undefined {
  for (const kept of lists) {
    for (const records of Object.values(kept.value ?? {})) {
      const value = list(records as { name?: string }[]).find((r) => r.name === name)
      if (value) return { ...kept, value }
    }
  }
  return undefined
}
