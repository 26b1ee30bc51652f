// What the picture and the table of a wheel's wear show: all of it from the API, some of it asked for day by day.
import * as care from '../api/care'
import { Problem, problemOf } from '../api/http'
import { num, text } from '../api/read'
import type { Wear, Wheel, WheelMeasurement } from '../api/types'
import { timeOf } from './said'

/** A line of a wheel's log. */
export interface Entry {
  time: number | undefined
  /** What the API says the diameter was. */
  mm: number | undefined
  measurement: WheelMeasurement
}

/** What is expected on a day. */
export interface Expected {
  time: number
  mm: number
  least: number | undefined
  most: number | undefined
}

export interface WearLog {
  wheel: Wheel
  entries: Entry[]
  wear: Wear | undefined
  /** Why nothing is foreseen. */
  why: Problem | undefined
  ahead: Expected[]
}

const day = 86_400_000 // ms
const looks = 5 // days ahead that are asked for
const farthest = 3 // times the log's own length that is looked ahead for the end of a wheel
const strips = 24 // measurements around the rim whose diameter is asked for

/** size is a diameter that a wheel can have. */
export const size = (mm: unknown): number | undefined => {
  const v = num(mm)
  return v !== undefined && v > 0 && v <= 2000 ? v : undefined
}

/** logOf fetches a wheel's log and what it tells of the days to come. */
export async function logOf(wheel: Wheel): Promise<WearLog> {
  const name = text(wheel.name)
  const [measurements, wear] = await Promise.all([care.measurements(name), care.wear(name).catch((thrown: unknown) => foreseen(thrown))])
  const entries = await Promise.all(measurements.map((m, i) => entryOf(name, m, i < strips)))
  if (wear instanceof Problem) return { wheel, entries, wear: undefined, why: wear, ahead: [] }
  return { wheel, entries, wear, why: undefined, ahead: await aheadOf(name, wear, entries) }
}

// foreseen: a log that is too short is no failure.
function foreseen(thrown: unknown): Problem {
  const problem = problemOf(thrown)
  if (problem.passing) throw problem
  return problem
}

// entryOf: of a strip around the rim the API says in the wheel's record what diameter it made of it.
async function entryOf(wheel: string, measurement: WheelMeasurement, ask: boolean): Promise<Entry> {
  const time = timeOf(measurement.occurTime), entry = { time, mm: size(measurement.diameterMm), measurement }
  if (!ask || num(measurement.aroundMm) === undefined || !text(measurement.createTime)) return entry
  const then = await care.believedThen(wheel, text(measurement.createTime)).catch(() => undefined)
  return then && timeOf(then.measureTime) === time ? { ...entry, mm: size(then.diameterMm) } : entry
}

/** aheadOf asks what is expected from the last measurement on, until the wheel's end if that is near. */
async function aheadOf(wheel: string, wear: Wear, entries: Entry[]): Promise<Expected[]> {
  const measured = entries.filter((e) => e.mm !== undefined).map((e) => e.time).filter((time) => time !== undefined)
  if (measured.length === 0) return []
  const from = Math.max(...measured), span = Math.max(60 * day, from - Math.min(...measured))
  const end = timeOf(wear.smallestTime) ?? Infinity
  const to = end > from && end <= from + farthest * span ? end : Math.max(from, Date.now()) + span / 2
  const ahead: Expected[] = []
  for (let n = 0; n < looks; n++) {
    const time = from + ((to - from) * n) / (looks - 1)
    const { diameterMm, leastDiameterMm, mostDiameterMm } = await care.wear(wheel, new Date(time).toISOString())
    const mm = size(diameterMm)
    if (mm !== undefined) ahead.push({ time, mm, least: size(leastDiameterMm), most: size(mostDiameterMm) })
  }
  return ahead
}
