// Numbers and times for people. The engine's own texts are shown as they are; this is for numbers that come without one.
import { num } from './api/read'
import { prefs } from './prefs'
import { t } from './words'

const none = '–'
const perInch = 25.4

/** fixed has so many places, and no sign where nothing but noughts are left. */
export const fixed = (value: number, places: number) => figures(value, { minimumFractionDigits: places, maximumFractionDigits: places })

/** exact is a number as somebody typed it, to a ten-thousandth. */
export const exact = (value: number) => figures(value, { maximumFractionDigits: 4, useGrouping: false })

// figures are never a power of ten: nobody sets a machine by one.
function figures(value: number, how: Intl.NumberFormatOptions): string {
  const said = new Intl.NumberFormat(prefs.language, how).format(value)
  return said.replace('-', /[1-9]/.test(said) ? '−' : '')
}

/** degrees is an angle. */
export function degrees(value: unknown, places = 1): string {
  const v = num(value)
  return v === undefined ? none : fixed(v, places) + '°'
}

/** length is a length in the unit of this device. */
export function length(mm: unknown): string {
  const v = num(mm)
  if (v === undefined) return none
  return prefs.inch ? fixed(v / perInch, 3) + ' in' : fixed(v, 1) + ' mm'
}

/** The unit in which people type. */
export const unit = () => (prefs.inch ? 'in' : 'mm')
export const toMm = (typed: number) => (prefs.inch ? typed * perInch : typed)
export const fromMm = (mm: number) => (prefs.inch ? mm / perInch : mm)

/** ago is how long something is past, in words. */
export function ago(time: unknown): string {
  const then = typeof time === 'string' ? Date.parse(time) : NaN
  if (!Number.isFinite(then)) return ''
  const minutes = Math.round((Date.now() - then) / 60_000)
  const words = new Intl.RelativeTimeFormat(prefs.language, { numeric: 'auto' })
  if (minutes < 1) return t('just now')
  if (minutes < 60) return words.format(-minutes, 'minute')
  if (minutes < 60 * 24) return words.format(-Math.round(minutes / 60), 'hour')
  return words.format(-Math.round(minutes / 60 / 24), 'day')
}

/** moment is a day and a time of day. */
export const moment = (time: number) => new Intl.DateTimeFormat(prefs.language, { dateStyle: 'medium', timeStyle: 'short', hourCycle: 'h23' }).format(time)

/** signed shows a minus that can be seen at arm's length. */
export const signed = (text: string) => text.replace(/^-/, '−')
