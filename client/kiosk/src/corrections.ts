// Undoing an entry of the log. Entries are never changed: another one points back and says that it was a mistake.
import { text } from './api/read'
import type { Sharpening } from './api/types'
import { t } from './words'

const undoable = 10 // minutes

/** minutesLeft for undoing an entry. */
export function minutesLeft(entry: Sharpening): number {
  const kept = Date.parse(text(entry.createTime) || text(entry.occurTime))
  return Number.isFinite(kept) ? Math.min(undoable, Math.ceil(undoable - (Date.now() - kept) / 60_000)) : 0
}

/** leftInWords tells until when, without haste. */
export function leftInWords(minutes: number): string {
  return minutes > 1 ? t('It can be undone for another {n} minutes.', { n: minutes }) : t('It can be undone for less than a minute.')
}

/** correctionOf takes an entry back. It stands wherever the entry does: with the same tool, station and wheel. */
export function correctionOf(entry: Sharpening): Partial<Sharpening> {
  const correction: Partial<Sharpening> = { notes: t('Entered by mistake; nothing was ground.') }
  if (entry.kind) correction.kind = entry.kind
  if (entry.name) correction.corrects = entry.name
  if (entry.tool) correction.tool = entry.tool
  if (entry.recipe) correction.recipe = entry.recipe
  if (entry.station) correction.station = entry.station
  if (entry.wheel) correction.wheel = entry.wheel
  return correction
}
