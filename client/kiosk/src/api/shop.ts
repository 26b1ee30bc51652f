// The calls that the page makes, by what they are for.
import { answered, forget, wordedAs } from '../offline/answers'
import { outbox, random, type New } from '../offline/outbox'
import { withInspections, withLock, withMeasurements } from '../offline/overlay'
import { prefs } from '../prefs'
import { shortId } from '../short-id'
import { t } from '../words'
import { call, counted, download, Problem, type Asking } from './http'
import { called, id, list, text } from './read'
import type { EdgeAnswer, Gauge, Holder, InkTrial, Inspection, Match, Recipe, Settings, Setup, Sharpening, SolveRequest, Station, Tool, Wheel, WheelMeasurement, Wording } from './types'

/** The shop that this page is for. */
export const shop = () => `shops/${prefs.shop}`

/** named is a record's full name. */
export const named = (collection: string, id: string) => `${shop()}/${collection}/${id}`

const at = (path: string) => `v1/${path}`

/** forget makes the next screens ask again. */
export { forget }

const fresh = 5000 // ms that a list counts as new: screens follow one another quickly

const kept = <T extends object>(path: string, asking?: Asking) => answered(path, () => call<T>('GET', at(path), undefined, asking), { fresh })

/** all are the records of a collection. */
export async function all<T extends object>(collection: string, asking?: Asking): Promise<T[]> {
  const found: T[] = []
  let token = ''
  for (let page = 0; page < 10; page++) {
    const query = new URLSearchParams({ pageSize: '500', ...(token ? { pageToken: token } : {}) })
    const answer = await kept<Record<string, unknown>>(`${shop()}/${collection}?${query}`, asking)
    found.push(...list(answer[collection] as T[] | undefined))
    token = text(answer['nextPageToken'], 4000)
    if (!token) break
  }
  return found
}

// queued waits until it is known what waits to be sent.
const queued = async <T>(answer: Promise<T>) => (await Promise.all([answer, outbox.ready]))[0]

export const stations = async () => (await queued(all<Station>('stations'))).map(withLock).map(withInspections)
export const wheels = async () => (await queued(all<Wheel>('wheels'))).map(withMeasurements).map(withInspections)
export const holders = async () => (await queued(all<Holder>('holders'))).map(withInspections)
export const tools = () => all<Tool>('tools')
export const recipes = () => all<Recipe>('recipes')
export const gauges = () => all<Gauge>('gauges')
export const holder = async (name: string) => withInspections(await queued(kept<Holder>(name)))
export const recipe = (name: string) => kept<Recipe>(name)
export const tool = (name: string) => kept<Tool>(name)
export const station = async (name: string) => withInspections(withLock(await queued(kept<Station>(name))))
export const wheel = async (name: string) => withInspections(withMeasurements(await queued(kept<Wheel>(name))))

/** shops that the server keeps. */
export const shops = async (asking?: Asking) => list((await kept<{ shops?: { name?: string; displayName?: string }[] }>('shops', asking)).shops)

/** alike finds records whose names are like the words; spelling need not be exact, unless there is no connection. */
export async function alike<T extends Tool | Recipe>(collection: 'tools' | 'recipes', words: string): Promise<T[]> {
  const query = new URLSearchParams({ search: words.slice(0, 200), pageSize: '12' })
  try {
    const answer = await call<Record<string, unknown>>('GET', at(`${shop()}/${collection}?${query}`))
    return list(answer[collection] as T[] | undefined)
  } catch (thrown) {
    if (!(thrown instanceof Problem) || !thrown.passing) throw thrown
    const wanted = words.toLowerCase().split(/\s+/)
    return (await all<T>(collection)).filter((r) => wanted.every((w) => `${called(r)} ${text(r.name)}`.toLowerCase().includes(w))).slice(0, 12)
  }
}

/** lately is what was sharpened last. */
export async function lately(asking?: Asking): Promise<Sharpening[]> {
  const query = new URLSearchParams({ orderBy: 'occur_time desc', pageSize: '30' })
  return list((await kept<{ sharpenings?: Sharpening[] }>(`${shop()}/sharpenings?${query}`, asking)).sharpenings)
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

/** solve asks how to set up. What was asked before is kept; whether it was is told by its mark (asOf). */
export async function solve(request: SolveRequest): Promise<Setup> {
  const { include, ...question } = request, under = solveKey(question), whole = isWhole(include)
  const short = (include?.length ?? 0) === 0
  if (request.now || !(whole || short)) return await solved(request)
  return await answered(whole ? under : under + wordedAs, () => solved(request), { under, keep: whole })
}

/** wholeAnswer are the parts that the pages of a set-up show. */
export const wholeAnswer: NonNullable<SolveRequest['include']> = ['PART_STEP_FIGURES', 'PART_PROOF', 'PART_ERROR_BUDGET']
const isWhole = (include: SolveRequest['include']) => wholeAnswer.every((part) => include?.includes(part))

/** solveKey is under what the answer to a question is kept. */
export const solveKey = ({ include: _, ...question }: SolveRequest) => `solve ${JSON.stringify(question)}${wordedAs}${prefs.language} ${prefs.inch ? 'in' : 'mm'}`

async function solved(request: SolveRequest): Promise<Setup> {
  const answer = await inWords((wording) => call<{ setup?: Setup }>('POST', at(`${shop()}:solveSetup`), { ...request, wording }))
  if (typeof answer.setup !== 'object' || answer.setup === null) throw new Problem('garbled', t('The server sent something that cannot be read.'))
  return answer.setup
}

/** edge asks what a set-up grinds along the whole edge: its points and how the tool stands at each, both views and the finished solid; or, where
 * there is none, all but that, and why. */
export async function edge({ include: _, ...request }: SolveRequest): Promise<EdgeAnswer & { without?: string }> {
  const ask = (include: string[]) => inWords((wording) => call<EdgeAnswer>('POST', at(`${shop()}:analyzeEdge`), { ...request, wording, points: 49, meshTriangles: 10_000, include }))
  const parts = ['EDGE_PART_VIEWS', 'EDGE_PART_POSES']
  try {
    return await ask([...parts, 'EDGE_PART_MESH'])
  } catch (thrown) {
    if (!(thrown instanceof Problem) || thrown.passing) throw thrown
    return { ...(await ask(parts)), without: thrown.message }
  }
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
export const onceId = () => 'kiosk-' + random(16)

/** measureWheel logs a diameter, a strip around the rim, or that it was dressed. */
export const measureWheel = (wheel: string, measurement: WheelMeasurement, once: string) =>
  entered<WheelMeasurement>({ kind: 'wheel', about: wheel, path: at(`${wheel}/measurements`), body: { ...measurement, occurTime: now() } }, once)

/** logSharpening keeps what was done to a tool. Its id is made here, so that it can be corrected before it is sent. */
export const logSharpening = (sharpening: Partial<Sharpening> & { settings?: Settings }, once: string) =>
  entered<Sharpening>({ kind: 'sharpening', about: text(sharpening.tool) || text(sharpening.recipe), path: at(`${shop()}/sharpenings`), body: { occurTime: now(), ...sharpening }, idField: 'sharpeningId' }, once)

/** inspect keeps what somebody found who looked at a station, wheel, holder, tool or gauge. */
export const inspect = (inspection: Partial<Inspection>, once: string) =>
  entered<Inspection>({ kind: 'inspection', about: text(inspection.subject), path: at(`${shop()}/inspections`), body: { occurTime: now(), ...inspection } }, once)

/** lock takes a station out of service. */
export const lock = (station: string, lockReason: string, once: string) =>
  entered<Station>({ kind: 'lock', about: station, path: at(`${station}:lock`), body: { lockReason } }, once)

const now = () => new Date().toISOString()

async function entered<T extends object>(made: New, once: string): Promise<T> {
  const answer = await counted(() => outbox.enter<T>(made, once))
  forget()
  return answer
}

/** unlock releases it, if it is still as it was seen: that waits for nothing, since somebody has to be allowed to. */
export async function unlock(station: string, unlockReason: string, person: string, requestId: string, etag: string): Promise<Station> {
  const answer = await call<Station>('POST', at(`${station}:unlock`), { unlockReason, requestId, etag }, { person })
  forget()
  return answer
}

/** What a code is of. */
export interface Resolved {
  kind?: string
  name?: string
  displayName?: string
  sheet?: Record<string, unknown>
}

/** resolve tells what a scanned or typed code is of; without a connection a short id of something known here. */
export async function resolve(code: string): Promise<Resolved> {
  try {
    return await call<Resolved>('GET', at(`${shop()}:resolveCode?${new URLSearchParams({ code: code.slice(0, 2000) })}`))
  } catch (thrown) {
    if (!(thrown instanceof Problem) || !thrown.passing) throw thrown
    const short = shortId(code), found = short && (await all<Tool>(short.collection)).find((r) => id(r.name) === short.id)
    if (!found) throw thrown
    return { name: text(found.name), displayName: called(found) }
  }
}

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
