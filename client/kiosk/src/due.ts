// When something is to be inspected, and whether the last look found it fit for use, in words. The API says both; days are those of this device's
// calendar.
import { html, nothing, type TemplateResult } from 'lit'
import { called, text } from './api/read'
import type { Holder, Station, Wheel } from './api/types'
import { stopIcon, warnIcon } from './parts/icons'
import { prefs } from './prefs'
import { t } from './words'

const day = 86_400_000 // ms
const shortly = 3 // days beforehand that it is worth saying

/** Inspected is what may have an interval. */
export type Inspected = Station | Wheel | Holder

export interface Due {
  /** When, in ms. */
  time: number
  overdue: boolean
  soon: boolean
  words: string
  /** The same in a line of its own. */
  line: string
}

/** dueOf is when something is to be inspected; nothing where nobody said how often. */
export function dueOf(it: Inspected | undefined): Due | undefined {
  const time = Date.parse(text(it?.inspectionDueTime))
  if (!it || !Number.isFinite(time)) return undefined
  const days = Math.round((midnight(time) - midnight(Date.now())) / day)
  const never = text(it.inspectTime) === '', words = never ? t('never inspected') : left(days)
  return { time, overdue: time <= Date.now(), soon: days <= shortly, words, line: never ? t('Never inspected') : t('Inspection: {due}', { due: words }) }
}

const midnight = (time: number) => new Date(time).setHours(0, 0, 0, 0)

function left(days: number): string {
  if (days === -1) return t('overdue for 1 day')
  if (days < 0) return t('overdue for {n} days', { n: -days })
  return t('due {when}', { when: new Intl.RelativeTimeFormat(prefs.language, { numeric: 'auto' }).format(days, 'day') })
}

export const isUnsafe = (it: Inspected | undefined) => it?.inspectFinding === 'INSPECTION_FINDING_UNSAFE'

/** unsafe says that the last inspection found something not fit for use, and nothing otherwise. It is named where that is not plain. */
export function unsafe(it: Inspected | undefined, named = false): TemplateResult | typeof nothing {
  if (!isUnsafe(it)) return nothing
  return html`<span class="state unsafe">${stopIcon()} <span>${named ? html`${called(it)}: ` : nothing}${t('Found not to be used')}</span></span>`
}

/** overdue says that an inspection is overdue, and nothing otherwise. */
export function overdue(it: Inspected | undefined): TemplateResult | typeof nothing {
  const due = dueOf(it)
  return due?.overdue ? html`<span class="state locked">${warnIcon()} <span>${due.line}</span></span>` : nothing
}
