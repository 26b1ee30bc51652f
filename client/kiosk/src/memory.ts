// What this device remembers of the work: tools used lately, and where a station's support was left.
import { num, strings, text } from './api/read'
import type { Settings } from './api/types'
import { isAngle, settingOf } from './cards'
import { length, unit } from './format'
import { store, stored } from './prefs'

const recentKey = 'arris.recent'
const standsKey = 'arris.stands'
const mostRecent = 8
const trusted = 12 * 3600 * 1000 // ms: by tomorrow somebody else may have moved it

/** recent are the last jobs' tools and recipes, `tools/bowl-gouge-12` first. */
export const recent = (): string[] => strings(stored<{ names: string[] }>(recentKey).names, mostRecent)

export function noteRecent(name: string): void {
  store(recentKey, { names: [name, ...recent().filter((n) => n !== name)].slice(0, mostRecent) })
}

/** Where a support stands, as somebody set or read it here. */
export interface Stand {
  support: string
  quantity: string
  value: number
  text: string
  time: number
}

export function stand(station: string): Stand | undefined {
  const s = stored<Record<string, Partial<Stand>>>(standsKey)[station]
  const value = num(s?.value), time = num(s?.time)
  if (!s || value === undefined || time === undefined || Date.now() - time > trusted) return undefined
  return { support: text(s.support), quantity: text(s.quantity), value, text: text(s.text), time }
}

export function noteStand(station: string, s: Stand | undefined): void {
  store(standsKey, { ...stored<object>(standsKey), [station]: s })
}

/** standsAt is it for people: as it was said, unless that was in the other unit. */
export const standsAt = (s: Stand) => (isAngle(s.quantity) || s.text.endsWith(unit()) ? s.text : length(s.value))

/** standing is it as a question says it. */
export const standing = (s: Stand | undefined): Settings | undefined => (s ? settingOf(s.quantity, s.value) : undefined)
