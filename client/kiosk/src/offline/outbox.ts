// What was done here is written down first and sent then, each entry under an id of its own, so that none is lost and none is kept twice: the
// API does a repeated request once. One it refuses stays, with its words, until somebody looks; it holds up no other.
import { call, counted, Problem, problemOf } from '../api/http'
import { forget, pause, tellNews } from './answers'
import { connection } from './connection'
import { use, type Entry } from './store'

const inFront = 2000 // ms that somebody waits before the screen for the server's word
const again = 5000 // ms after a server that is there did not answer
const nowAndThen = 30_000 // ms: another tab may have gone with what it was sending
const lockName = 'arris.outbox'

export type New = Omit<Entry, 'n' | 'device' | 'time' | 'refused'>

/** Where nothing can be kept, an entry is sent at once under an id that its screen gives it. */
type Sending = Pick<Entry, 'kind' | 'path' | 'body' | 'idField'>

const numbers = new WeakMap<object, number>()

/** isKept tells whether what was entered is only on this device so far. */
export const isKept = (made: object | undefined): boolean => made !== undefined && outbox.entries.some((e) => e.n === numbers.get(made))

class Outbox extends EventTarget {
  /** What waits, oldest first; as of the last `change`. */
  entries: readonly Entry[] = []
  /** Done once the entries are read for the first time. */
  readonly ready: Promise<void>
  private readonly others = typeof BroadcastChannel === 'function' ? new BroadcastChannel(lockName) : undefined
  private turn: Promise<unknown> = Promise.resolve()

  constructor() {
    super()
    this.ready = this.read()
    if (this.others) this.others.onmessage = () => void this.read()
    void this.ready.then(() => this.flush())
    connection.addEventListener('change', () => void (connection.away || this.flush()))
    setInterval(() => void (connection.away || this.flush()), nowAndThen)
  }

  /** enter keeps an entry and sends it. What the API refuses while somebody waits for it is told at once and not kept. */
  async enter<T extends object>(made: New, once: string): Promise<T> {
    const entry = await add(made)
    if (!entry) return await sent<T>(made, once)
    await this.changed()
    const outcome = (await Promise.race([this.flush(), pause(inFront)]))?.get(entry.n)
    if (outcome instanceof Problem && !outcome.passing) {
      await this.discard(entry.n)
      throw outcome
    }
    if (outcome && !(outcome instanceof Problem)) return outcome as T
    const record = { ...entry.body, ...(entry.idField ? { name: `${entry.path.replace(/^v1\//, '')}/${idOf(entry)}` } : {}) }
    numbers.set(record, entry.n)
    return record as T
  }

  /** flush sends what waits, one tab at a time; what became of each is by its number. */
  flush(): Promise<Map<number, object>> {
    if (!this.entries.some((e) => !e.refused)) return Promise.resolve(new Map())
    const { locks } = navigator // not there without a secure origin: then the API's own care for repeated requests is enough
    const job = () => this.sendAll()
    const run: Promise<Map<number, object>> = counted(async () => (locks ? await locks.request(lockName, job) : await this.turn.then(job)))
    this.turn = run.catch(() => undefined)
    return run
  }

  private async sendAll(): Promise<Map<number, object>> {
    const outcomes = new Map<number, object>()
    for (const entry of (await use((store) => store.getAll('outbox'))) ?? []) {
      if (entry.refused) continue
      const outcome = await sent(entry, idOf(entry)).catch(problemOf)
      outcomes.set(entry.n, outcome)
      if (!(outcome instanceof Problem)) await use((store) => store.delete('outbox', entry.n))
      else if (!outcome.passing) await use((store) => store.put('outbox', { ...entry, refused: outcome.message }))
      else if (!(await connection.check())) break
    }
    if (outcomes.size > 0) await this.changed()
    if (!connection.away && [...outcomes.values()].some((o) => o instanceof Problem && o.passing)) setTimeout(() => void this.flush(), again)
    return outcomes
  }

  /** discard forgets an entry. */
  async discard(n: number): Promise<void> {
    await use((store) => store.delete('outbox', n))
    await this.changed()
  }

  /** again sends a refused entry once more, under the id it had. */
  async again({ refused: _, ...entry }: Entry): Promise<void> {
    await use((store) => store.put('outbox', entry))
    await this.changed()
    await this.flush()
  }

  private async changed(): Promise<void> {
    this.others?.postMessage('changed')
    await this.read()
  }

  private async read(): Promise<void> {
    const was = JSON.stringify(this.entries)
    this.entries = (await use((store) => store.getAll('outbox'))) ?? []
    if (JSON.stringify(this.entries) === was) return
    forget()
    tellNews()
    this.dispatchEvent(new Event('change'))
  }
}

export const outbox = new Outbox()

/** idOf is an entry's own id, and that of the record it makes where the page chooses one. */
export const idOf = (entry: Pick<Entry, 'device' | 'n'>) => `kiosk-${entry.device}-${entry.n}`

async function sent<T extends object>(entry: Sending, id: string): Promise<T> {
  if (entry.kind === 'lock') return await call<T>('POST', entry.path, { ...entry.body, requestId: id })
  const query = new URLSearchParams({ requestId: id, ...(entry.idField ? { [entry.idField]: id } : {}) })
  return await call<T>('POST', `${entry.path}?${query}`, entry.body)
}

// add writes an entry down with the next number; the device is named with its first.
function add(made: New): Promise<Entry | undefined> {
  return use(async (store) => {
    const tx = store.transaction(['outbox', 'facts'], 'readwrite')
    const device = ((await tx.objectStore('facts').get('device')) as string | undefined) ?? random(8)
    await tx.objectStore('facts').put(device, 'device')
    const entry = { ...made, device, time: Date.now() }
    const n = await tx.objectStore('outbox').add(entry as Entry)
    await tx.done
    return { ...entry, n }
  })
}

/** random is so many bytes in hexadecimal. */
export const random = (bytes: number) => Array.from(crypto.getRandomValues(new Uint8Array(bytes)), (b) => b.toString(16).padStart(2, '0')).join('')
