// Days, and words that others wrote, for people.
import { html, type TemplateResult } from 'lit'
import { text } from '../api/read'
import { prefs } from '../prefs'
import { t } from '../words'

const first = Date.UTC(2000, 0), last = Date.UTC(2200, 0)

/** timeOf is a time that a calendar of ours holds, in ms, or undefined. */
export function timeOf(time: unknown): number | undefined {
  const ms = typeof time === 'string' ? Date.parse(time) : NaN
  return ms > first && ms < last ? ms : undefined
}

/** calendar is whose dates are written: in English the day first, as the engine writes them. */
export const calendar = () => (prefs.language === 'en' ? 'en-GB' : prefs.language)

/** day is a date in the words of this device's language. */
export function day(ms: number | undefined): string {
  return ms === undefined ? '–' : new Intl.DateTimeFormat(calendar(), { day: 'numeric', month: 'short', year: 'numeric' }).format(ms)
}

/** clock is a time of day on this device. */
export function clock(ms: number | undefined): string {
  return ms === undefined ? '' : new Intl.DateTimeFormat(calendar(), { timeStyle: 'short', hourCycle: 'h23' }).format(ms)
}

const short = 140, most = 10_000 // letters

/** note is what somebody wrote, in whichever direction; a long one unfolds. */
export function note(words: unknown): TemplateResult | string {
  const whole = text(words, most)
  if (whole.length <= short) return html`<span class="note" dir="auto">${whole}</span>`
  return html`<details class="note"><summary dir="auto">${whole.slice(0, short)}… <span class="more">${t('all of it')}</span></summary><p dir="auto">${whole}</p></details>`
}
