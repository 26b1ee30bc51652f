// What looking after the shop asks of the API: how wheels wear, what was looked at, and what was logged.
import { call } from './http'
import { list, text } from './read'
import { forget, inWords, lately, shop } from './shop'
import type { Inspection, Sharpening, Wear, Wheel, WheelMeasurement } from './types'

const latest = 200 // entries of a log on a screen

const newest = (more: Record<string, string> = {}) => new URLSearchParams({ orderBy: 'occur_time desc', pageSize: String(latest), ...more })

/** measurements are a wheel's log, the newest first. */
export const measurements = async (wheel: string) =>
  list((await call<{ wheelMeasurements?: WheelMeasurement[] }>('GET', `v1/${wheel}/measurements?${newest()}`)).wheelMeasurements)

/** believedThen is a wheel as its record was at a time. */
export const believedThen = (wheel: string, time: string) => call<Wheel>('GET', `v1/${wheel}?${new URLSearchParams({ asOfTime: time })}`)

/** wear is how a wheel wears, and its diameter on a day; now, unless a day is said. */
export const wear = (wheel: string, on = '') =>
  inWords((wording) => {
    const query = new URLSearchParams({ 'wording.languageCode': text(wording.languageCode), 'wording.lengthUnit': text(wording.lengthUnit) })
    if (on) query.set('forecastTime', on)
    return call<Wear>('GET', `v1/${wheel}:forecastWear?${query}`)
  })

/** inspections are the newest of all, or of one station or wheel. */
export async function inspections(subject = ''): Promise<Inspection[]> {
  const query = newest(subject ? { filter: `${subject.split('/')[2] === 'wheels' ? 'wheel' : 'station'} = "${subject}"` } : { pageSize: '1000' })
  return list((await call<{ inspections?: Inspection[] }>('GET', `v1/${shop()}/inspections?${query}`)).inspections)
}

/** entries are the newest sharpenings as they are now. */
export function entries(): Promise<Sharpening[]> {
  forget()
  return lately()
}
