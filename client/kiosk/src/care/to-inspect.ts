// What was found not to be used, and what is to be inspected: first what is overdue, then what is due soon, and below that everything else, the
// one looked at longest ago first.
import { html, nothing, type TemplateResult } from 'lit'
import { called, id, text } from '../api/read'
import type { Holder, Inspection, Station, Wheel } from '../api/types'
import { dueOf, isUnsafe, unsafe, type Due, type Inspected } from '../due'
import { lockIcon, readyIcon, warnIcon } from '../parts/icons'
import { link } from '../route'
import { isLocked } from '../tiles'
import { t } from '../words'
import { finding, inspected, inspectLink } from './inspections'
import { note, timeOf } from './said'

export interface Looks {
  stations: Station[]
  wheels: Wheel[]
  holders: Holder[]
  /** Undefined where they cannot be had now. */
  inspections: Inspection[] | undefined
}

interface Thing {
  it: Inspected
  due: Due | undefined
  last: Inspection | undefined
}

function things({ stations, wheels, holders, inspections }: Looks): Thing[] {
  const regular = holders.filter((h) => dueOf(h) || isUnsafe(h)) // others are looked at with what they hold
  return [...stations, ...wheels, ...regular].map((it) => ({ it, due: dueOf(it), last: inspections?.find((i) => i.subject === it.name) }))
}

const unfit = ({ it }: Thing) => isUnsafe(it)
const pressing = ({ due }: Thing) => due !== undefined && (due.overdue || due.soon)

/** notToBeUsed is what nobody may use until it was put right and inspected again; nothing where there is none. */
export function notToBeUsed(looks: Looks): TemplateResult | typeof nothing {
  const all = things(looks).filter(unfit)
  return all.length === 0 ? nothing : html`
    <section class="panel"><h2>${t('Found not to be used')}</h2>
      <p>${t('Lock the station, or put it right and inspect it again.')}</p>
      <ul class="care-list">${all.map(row)}</ul>
    </section>`
}

/** dueFirst is what somebody has to look at now or soon. */
export function dueFirst(looks: Looks): TemplateResult {
  const all = things(looks), due = all.filter((x) => pressing(x) && !unfit(x)).sort((a, b) => a.due!.time - b.due!.time)
  const none = all.some((x) => pressing(x)) ? t('Nothing else has to be inspected now.') : all.some((x) => x.due) ? t('Nothing has to be inspected now.') : t('Nothing here says how often it is to be inspected.')
  return html`
    <section class="panel"><h2>${t('Inspections due')}</h2>
      ${due.length === 0
        ? html`<p class="state ready">${readyIcon()} <span>${none}</span></p>`
        : html`<ul class="care-list due">${due.slice(0, 40).map(row)}</ul>`}
    </section>`
}

/** theRest is what was looked at lately enough, or nobody says how often. */
export function theRest(looks: Looks): TemplateResult {
  const rest = things(looks).filter((x) => !pressing(x) && !unfit(x)).sort((a, b) => looked(a) - looked(b))
  return html`
    <section class="panel"><h2>${t('Inspections, the oldest first')}</h2>
      <ul class="care-list">${rest.slice(0, 40).map(row)}</ul>
    </section>`
}

function row({ it, due, last }: Thing): TemplateResult {
  const pressed = due?.overdue ?? false, bad = isUnsafe(it)
  return html`
    <li><div><span class="name">${called(it)}</span>${unsafe(it)}
      ${due ? html`<span class=${pressed ? 'state locked' : 'state'}>${pressed ? warnIcon() : nothing} <span>${due.words}</span></span>` : nothing}
      ${last || !due || text(it.inspectTime) ? html`<span class="more">${inspected(lastTime(it, last))}</span>` : nothing}${bad ? said(last) : last ? finding(last) : nothing}</div>
      ${bad && text(it.name).includes('/stations/') && !isLocked(it as Station) ? html`<a class="button danger" href=${link(['station', id(it.name)])} aria-label=${`${t('Lock this station')}: ${called(it)}`}>${lockIcon()} ${t('Lock this station')}</a>` : nothing}
      <a class="button" href=${inspectLink(it.name)} aria-label=${`${t('Inspect it')}: ${called(it)}`}>${t('Inspect it')}</a></li>`
}

// said is what was noted of what is not to be used.
const said = (last: Inspection | undefined) => (last?.finding === 'INSPECTION_FINDING_UNSAFE' && text(last.notes) ? note(last.notes) : nothing)

// lastTime is when it was looked at last: what waits on this device counts as well.
const lastTime = (it: Inspected, last: Inspection | undefined) => text(it.inspectTime) || text(last?.occurTime)
const looked = ({ it, last }: Thing) => timeOf(lastTime(it, last)) ?? 0
