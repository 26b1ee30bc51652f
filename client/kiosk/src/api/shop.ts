// The calls that the page makes, by what they are for.
import { prefs } from '../prefs'
import { t } from '../words'
import { call, download, Problem, type Asking } from './http'
import { list, text } from './read'
import type { Gauge, Holder, InkTrial, Match, Recipe, Settings, Setup, Sharpening, SolveRequest, Station, Tool, Wheel, WheelMeasurement, Wording } from './types'

/** The shop that this page is for. */
export const shop = () => `shops/${prefs.shop}`

/** named is a record's full name. */
export const named = (collection: string, id: string) => `${shop()}/${collection}/${id}`

const at = (path: string) => `v1/${path}`

// What a list was last, for a few seconds: screens follow one another quickly.
const fresh = 5000 // ms
const lists = new Map<string, { since: number; answer: Promise<unknown> }>()

function kept<T>(path: string): Promise<T> {
  const now = Date.now()
  const known = lists.get(path)
  if (known && now - known.since < fresh) return known.answer as Promise<T>
  const answer = call<T>('GET', at(path))
  lists.set(path, { since: now, answer })
  answer.catch(() => lists.delete(path))
  return answer
}

/** forget makes the next screens ask again: something was changed. */
export const forget = () => lists.clear()

async function all<T extends object>(collection: string, field: string): Promise<T[]> {
  const found: T[] = []
  let token = ''
  for (let page = 0; page < 10; page++) {
    const query = new URLSearchParams({ pageSize: '500', ...(token ? { pageToken: token } : {}) })
    const answer = await kept<Record<string, unknown>>(`${shop()}/${collection}?${query}`)
    found.push(...list(answer[field] as T[] | undefined))
    token = text(answer['nextPageToken'], 4000)
    if (!token) break
  }
  return found
}

export const stations = () => all<Station>('stations', 'stations')
export const wheels = () => all<Wheel>('wheels', 'wheels')
export const tools = () => all<Tool>('tools', 'tools')
export const recipes = () => all<Recipe>('recipes', 'recipes')
export const gauges = () => all<Gauge>('gauges', 'gauges')
export const holder = (name: string) => kept<Holder>(name)
export const recipe = (name: string) => kept<Recipe>(name)
export const tool = (name: string) => kept<Tool>(name)
export const station = (name: string) => kept<Station>(name)
export const wheel = (name: string) => kept<Wheel>(name)

/** shops that the server keeps. */
export const shops = async () => list((await call<{ shops?: { name?: string; displayName?: string }[] }>('GET', at('shops'))).shops)

/** alike finds records whose names are like the words; spelling need not be exact. */
export async function alike<T extends object>(collection: 'tools' | 'recipes', words: string): Promise<T[]> {
  const query = new URLSearchParams({ search: words.slice(0, 200), pageSize: '12' })
  const answer = await call<Record<string, unknown>>('GET', at(`${shop()}/${collection}?${query}`))
  return list(answer[collection] as T[] | undefined)
}

/** lately is what was sharpened last. */
export async function lately(): Promise<Sharpening[]> {
  const query = new URLSearchParams({ orderBy: 'occur_time desc', pageSize: '30' })
  return list((await kept<{ sharpenings?: Sharpening[] }>(`${shop()}/sharpenings?${query}`)).sharpenings)
}

// The engine's own languages are tried once; one that it does not speak yet is English.
const unspoken = new Set<string>()

/** wording is the language and unit that answers are asked for in. */
export function wording(): Wording {
  return { languageCode: unspoken.has(prefs.language) ? 'en' : prefs.language, lengthUnit: prefs.inch ? 'LENGTH_UNIT_INCH' : 'LENGTH_UNIT_MM' }
}

/** inWords asks in the language of this device. */
export async function inWords<T>(ask: (wording: Wording) => Promise<T>): Promise<T> {
  const asked = wording()
  try {
    return await ask(asked)
  } catch (thrown) {
    const language = asked.languageCode
    if (!(thrown instanceof Problem) || language === undefined || language === 'en' || !thrown.fields.some((f) => f.endsWith('language_code'))) throw thrown
    unspoken.add(language)
    return await ask(wording())
  }
}

/** solve asks how to set up. */
export async function solve(request: SolveRequest): Promise<Setup> {
  const answer = await inWords((wording) => call<{ setup?: Setup }>('POST', at(`${shop()}:solveSetup`), { ...request, wording }))
  if (typeof answer.setup !== 'object' || answer.setup === null) throw new Problem('garbled', t('The server sent something that cannot be read.'))
  return answer.setup
}

/** sheet is the same answer on paper. */
export const sheet = (request: SolveRequest, letter: boolean) =>
  inWords((wording) => download(at(`${shop()}:renderSheet`), { setup: { ...request, wording }, paperSize: letter ? 'PAPER_SIZE_LETTER' : 'PAPER_SIZE_A4' }))

/** ink reads an ink test. */
export const ink = (rig: object, trials: InkTrial[]) =>
  inWords((wording) => call<Match>('POST', at(`${shop()}:matchGrind`), { rig, ink: { trials }, wording }))

/** measured reads what a protractor showed. */
export const measured = (rig: object, measured: { readingDeg: number; steelDepthMm?: number }) =>
  inWords((wording) => call<Match>('POST', at(`${shop()}:matchGrind`), { rig, measured, wording }))

/** onceId makes a repeated call happen once. */
export function onceId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16))
  return 'kiosk-' + Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('')
}

async function changed<T>(path: string, body: object, asking?: Asking): Promise<T> {
  const answer = await call<T>('POST', at(path), body, asking)
  forget()
  return answer
}

/** measureWheel logs a diameter, a strip around the rim, or that it was dressed. */
export const measureWheel = (wheel: string, measurement: WheelMeasurement, requestId: string) =>
  changed<WheelMeasurement>(`${wheel}/measurements?${new URLSearchParams({ requestId })}`, measurement)

/** logSharpening keeps what was done to a tool. */
export const logSharpening = (sharpening: Partial<Sharpening> & { settings?: Settings }, requestId: string) =>
  changed<Sharpening>(`${shop()}/sharpenings?${new URLSearchParams({ requestId })}`, sharpening)

/** lock takes a station out of service. */
export const lock = (station: string, lockReason: string, requestId: string) => changed<Station>(`${station}:lock`, { lockReason, requestId })

/** unlock releases it, if it is still as it was seen. */
export const unlock = (station: string, unlockReason: string, person: string, requestId: string, etag: string) =>
  changed<Station>(`${station}:unlock`, { unlockReason, requestId, etag }, { person })

/** What a code is of. */
export interface Resolved {
  kind?: string
  name?: string
  displayName?: string
  sheet?: Record<string, unknown>
}

/** resolve tells what a scanned or typed code is of. */
export const resolve = (code: string) => call<Resolved>('GET', at(`${shop()}:resolveCode?${new URLSearchParams({ code: code.slice(0, 2000) })}`))

/** What became of a sheet. */
export interface CheckedSheet {
  superseded?: boolean
  text?: string
  changes?: { text?: string; supersedes?: boolean }[]
  offDeg?: number
}

/** checkSheet tells what changed since a sheet was made, from what its code holds; there the shop is its id alone. */
export const checkSheet = (held: URLSearchParams) =>
  inWords((wording) => {
    const query = new URLSearchParams(held)
    query.delete('shop')
    query.set('wording.languageCode', text(wording.languageCode))
    query.set('wording.lengthUnit', text(wording.lengthUnit))
    return call<CheckedSheet>('GET', at(`shops/${encodeURIComponent(held.get('shop') ?? prefs.shop)}:checkSheet?${query}`))
  })
