// What was found by those who looked at a station or a wheel, and the way to say what one finds now.
import { html, type TemplateResult } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import * as care from '../api/care'
import { text } from '../api/read'
import type { Inspection } from '../api/types'
import { ago } from '../format'
import { readyIcon, stopIcon, warnIcon } from '../parts/icons'
import { refusal } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { link } from '../route'
import { t } from '../words'
import { day, note, timeOf } from './said'

/** finding is what an inspection found, in words and with a picture. */
export function finding(inspection: Inspection | undefined): TemplateResult {
  switch (inspection?.finding) {
    case 'INSPECTION_FINDING_SOUND':
      return html`<span class="state ready">${readyIcon()} <span>${t('In order')}</span></span>`
    case 'INSPECTION_FINDING_ATTENTION':
      return html`<span class="state locked">${warnIcon()} <span>${t('To be seen to')}</span></span>`
    case 'INSPECTION_FINDING_UNSAFE':
      return html`<span class="state unsafe">${stopIcon()} <span>${t('Not to be used')}</span></span>`
    default:
      return html`<span class="state">–</span>`
  }
}

/** inspected tells when it was looked at last: a fact. How often it has to be is the shop's own rule. */
export const inspected = (time: string) => (time ? t('last inspected {ago}', { ago: ago(time) }) : t('no inspection is kept'))

/** inspectLink leads to where one says what one found. */
export const inspectLink = (name: unknown) => link(['inspect', ...text(name).split('/').slice(2)])

const shown = 4

@customElement('k-inspections')
export class Inspections extends Screen {
  /** Full name of what is looked at. */
  @property() subject = ''
  private readonly log = new Load<Inspection[]>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('subject') && this.subject) void this.log.run(() => care.inspections(this.subject))
  }

  protected override render() {
    const { value, problem } = this.log
    return html`
      <section class="panel">
        <h2>${t('Inspections')}</h2>
        ${value ? html`<p>${inspected(text(value[0]?.occurTime))}</p><ul class="entries">${value.slice(0, shown).map((i) => this.entry(i))}</ul>` : problem ? refusal(problem) : waiting()}
        <a class="button" href=${inspectLink(this.subject)}>${t('Inspect it')}</a>
      </section>`
  }

  private entry(i: Inspection): TemplateResult {
    return html`<li><span class="when">${day(timeOf(i.occurTime))}</span> ${finding(i)} ${text(i.notes) ? note(i.notes) : ''}</li>`
  }
}
