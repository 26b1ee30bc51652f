// The shop as it is with what waits to be sent: a lock counts at once, and so do a diameter and an inspection.
import { across, num, text } from '../api/read'
import type { Holder, Inspection, Sharpening, Station, Wheel, WheelMeasurement } from '../api/types'
import { outbox } from './outbox'

const longest = 3650 // days that an interval has

const about = (name: unknown, kind: string) => outbox.entries.filter((e) => e.kind === kind && e.about === name)

/** withLock is a station as locked as it is here: a lock that the API refused counts too, until somebody has looked. */
export function withLock(station: Station): Station {
  const lock = about(station.name, 'lock').at(-1)
  if (!lock || station.state === 'STATION_STATE_LOCKED') return station
  return { ...station, state: 'STATION_STATE_LOCKED', stateReason: text((lock.body as { lockReason?: string }).lockReason), stateTime: iso(lock.time) }
}

/** withMeasurements is a wheel with what was measured here since. */
export function withMeasurements(wheel: Wheel): Wheel {
  let now = wheel
  for (const entry of about(wheel.name, 'wheel')) {
    const measured = entry.body as WheelMeasurement, diameterMm = across(measured), time = iso(entry.time)
    if (entry.refused || time < text(now.measureTime)) continue
    if (diameterMm !== undefined) now = { ...without(now), diameterMm, measureTime: time }
    else if (measured.dressed) now = { ...now, dressTime: time }
  }
  return now
}

/** withInspections is what is inspected with what was looked at and found here since: an interval later it is due again, as the API
 * has it (Inspecting.Looked). What was found not to be used counts as a lock does, also where the API refused to keep it. */
export function withInspections<T extends Station | Wheel | Holder>(it: T): T {
  let now = it
  for (const { body, refused } of about(it.name, 'inspection')) {
    const { occurTime, finding } = body as Inspection
    const time = Date.parse(text(occurTime)), days = num(now.inspectionIntervalDays) ?? Infinity
    if (refused && finding !== 'INSPECTION_FINDING_UNSAFE' || !(time > (Date.parse(text(now.inspectTime)) || 0))) continue
    now = { ...now, inspectTime: iso(time), inspectFinding: finding }
    if (days <= longest) now.inspectionDueTime = iso(time + days * 86_400_000)
  }
  return now
}

const without = ({ dressTime: _, ...wheel }: Wheel): Wheel => wheel

/** sharpened are the entries of this device that wait, newest first. */
export const sharpened = (): Sharpening[] => outbox.entries.filter((e) => e.kind === 'sharpening').map((e) => e.body as Sharpening).reverse()

const iso = (time: number) => new Date(time).toISOString()
