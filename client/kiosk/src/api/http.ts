// One way to ask the API: every call ends in time, and everything that goes wrong is a Problem with words for people.
import { connection } from '../offline/connection'
import { t } from '../words'
import { plain } from './plain'
import { list, num, parsed, text } from './read'
import type { Way } from './types'

/** Why a call failed: refused by the API; away or slow, so that asking again may help; or an answer that nobody can read. */
export type ProblemKind = 'refused' | 'away' | 'slow' | 'garbled'

export class Problem extends Error {
  constructor(
    readonly kind: ProblemKind,
    message: string,
    readonly reason = '',
    readonly fields: readonly string[] = [],
    readonly ways: readonly Way[] = [],
  ) {
    super(message)
  }

  /** passing tells whether the same call may work a little later. */
  get passing(): boolean {
    return this.kind !== 'refused'
  }
}

/** problemOf is any thrown thing as a Problem. */
export function problemOf(thrown: unknown): Problem {
  if (thrown instanceof Problem) return thrown
  console.error(thrown)
  return new Problem('garbled', t('Something on this page went wrong. Reload it, or go back and try again.'))
}

const root = new URL('..', document.baseURI) // the page is served one folder below the API
const patience = 8000 // ms
const largest = 8_000_000 // letters of an answer

export interface Asking {
  patience?: number
  /** Opaque id of whoever asks. */
  person?: string
  /** Nobody waits for it. */
  quiet?: boolean
}

async function ask(method: string, path: string, body: object | undefined, asking: Asking): Promise<Response> {
  const headers: Record<string, string> = {}
  if (body) headers['Content-Type'] = 'application/json'
  if (asking.person) headers['X-Arris-Person'] = asking.person
  const init: RequestInit = { method, headers, signal: AbortSignal.timeout(asking.patience ?? patience), cache: 'no-store', credentials: 'same-origin' }
  if (body) init.body = JSON.stringify(body)
  return await fetch(new URL(path, root), init)
}

let asked = 0

/** busy tells whether somebody waits for something that is on its way. */
export const busy = () => asked > 0

/** counted says on the page whether something is on its way, for whoever drives it from outside. */
export async function counted<T>(job: () => Promise<T>): Promise<T> {
  document.documentElement.dataset['asked'] = String(++asked)
  try {
    return await job()
  } finally {
    document.documentElement.dataset['asked'] = String(--asked)
  }
}

/** piece is a part of the page that is loaded when somebody wants it. */
export const piece = <T>(file: Promise<T>): Promise<T> => file.catch(() => Promise.reject(away()))

const away = () => new Problem('away', t('The server cannot be reached.'))

function failure(thrown: unknown): Problem {
  if (thrown instanceof Problem) return thrown
  if (thrown instanceof DOMException && (thrown.name === 'TimeoutError' || thrown.name === 'AbortError')) {
    return new Problem('slow', t('The server does not answer in time.'))
  }
  return away()
}

/** call asks for JSON. */
export async function call<T>(method: 'GET' | 'POST', path: string, body?: object, asking: Asking = {}): Promise<T> {
  let answer: Response, words: string
  try {
    const whole = async (): Promise<[Response, string]> => {
      const answer = await ask(method, path, body, asking)
      return [answer, await answer.text()]
    }
    ;[answer, words] = await (asking.quiet ? whole() : counted(whole))
  } catch (thrown) {
    void connection.check()
    throw failure(thrown)
  }
  const value = words.length <= largest ? readable(words) : undefined
  if (!answer.ok) throw refusalOf(answer.status, value)
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    throw new Problem('garbled', t('The server sent something that cannot be read.'))
  }
  return value as T
}

/** download asks for a file. */
export async function download(path: string, body: object): Promise<Blob> {
  let answer: Response
  try {
    answer = await counted(() => ask('POST', path, body, { patience: 20_000 }))
    if (answer.ok) return await answer.blob()
  } catch (thrown) {
    throw failure(thrown)
  }
  throw refusalOf(answer.status, readable(await answer.text().catch(() => '')))
}

function readable(words: string): unknown {
  try {
    return parsed(words)
  } catch {
    return undefined
  }
}

interface Status {
  message?: string
  details?: { reason?: string; fieldViolations?: { field?: string; description?: string }[]; ways?: Way[] }[]
}

/** refusalOf is the API's words without its names, with what it says would work. */
export function refusalOf(status: number, value: unknown): Problem {
  const said = (value ?? {}) as Status
  const words = text(said.message, 1000)
  if (!words) {
    return status >= 500
      ? new Problem('away', t('The server cannot answer now (status {n}).', { n: status }))
      : new Problem('refused', t('The server refused without saying why (status {n}).', { n: status }))
  }
  const details = list(said.details)
  const reason = details.map((d) => text(d.reason)).find(Boolean) ?? ''
  const violations = details.flatMap((d) => list(d.fieldViolations).map((v) => ({ field: text(v.field), text: text(v.description, 1000) })))
  const ways = details.flatMap((d) => list(d.ways, 8))
  return new Problem(num(status) === 503 || status === 504 ? 'away' : 'refused', plain(words, violations), reason, violations.map((v) => v.field), ways)
}
