// Somebody looked at a station, a wheel or a holder and says what they found: one tap, and a note where there is something to say.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { called, text } from '../api/read'
import * as shop from '../api/shop'
import type { Inspection, Station } from '../api/types'
import { finding } from '../care/inspections'
import { dueOf, type Inspected } from '../due'
import { readyIcon, stopIcon, warnIcon } from '../parts/icons'
import { refusal } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { link, type Route } from '../route'
import { isLocked } from '../tiles'
import { t } from '../words'
import '../parts/lock'

type Found = NonNullable<Inspection['finding']>

@customElement('k-inspect')
export class Inspect extends Screen {
  /** `#/inspect/stations/north`. */
  @property({ attribute: false }) route!: Route
  @state() private notes = ''
  private readonly subject = new Load<{ it: Inspected; station: Station | undefined }>(this)
  private readonly keeping = new Load<Inspection>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has('route')) return
    this.notes = ''
    this.keeping.clear()
    void this.load()
  }

  private load() {
    const [, kind = '', its = ''] = this.route.path
    return this.subject.run(async () => {
      if (kind === 'holders') return { it: await shop.holder(shop.named('holders', its)), station: undefined }
      if (kind !== 'wheels') return shop.station(shop.named('stations', its)).then((s) => ({ it: s, station: s }))
      const wheel = await shop.wheel(shop.named('wheels', its))
      return { it: wheel, station: wheel.station ? await shop.station(text(wheel.station)) : undefined }
    })
  }

  private found(what: Found): void {
    const once = shop.onceId(), inspection = { subject: text(this.subject.value?.it.name), finding: what, notes: this.notes.trim(), occurTime: new Date().toISOString() }
    void this.keeping.run(() => shop.inspect(inspection, once))
  }

  protected override render() {
    const { value, problem } = this.subject
    if (!value) return problem ? refusal(problem) : waiting()
    return html`
      <h1>${t('Inspect: {name}', { name: called(value.it) })}</h1>
      ${this.keeping.problem && !this.keeping.problem.passing ? refusal(this.keeping.problem) : nothing}
      ${this.keeping.value ? this.kept(this.keeping.value, value.station) : this.ask(value.it)}`
  }

  private ask(it: Inspected): TemplateResult {
    const due = dueOf(it)
    const choices: [Found, TemplateResult, string, string][] = [
      ['INSPECTION_FINDING_SOUND', readyIcon(), t('In order'), t('nothing to be done')],
      ['INSPECTION_FINDING_ATTENTION', warnIcon(), t('To be seen to'), t('and usable meanwhile')],
      ['INSPECTION_FINDING_UNSAFE', stopIcon(), t('Not to be used'), t('until it is put right')],
    ]
    return html`
      ${due?.soon ? html`<p>${due.line}</p>` : nothing}
      <p class="lead">${lookAt(this.route.path[1])}</p>
      <div class="tiles wide findings">${choices.map(([what, icon, name, more]) => html`
        <button type="button" class="tile" ?disabled=${this.keeping.busy} @click=${() => this.found(what)}><span class="name">${icon} ${name}</span><span class="more">${more}</span></button>`)}</div>
      <label class="written">${t('Note, if there is something to say (first, then tap what you found)')}<textarea rows="2" maxlength="10000" dir="auto" .value=${this.notes}
        @input=${(e: Event) => (this.notes = (e.target as HTMLTextAreaElement).value)}></textarea></label>`
  }

  private kept(inspection: Inspection, station: Station | undefined): TemplateResult {
    const bad = inspection.finding === 'INSPECTION_FINDING_UNSAFE'
    return html`
      <p class="done" role="status">${readyIcon()} ${t('Kept.')}</p>
      <p>${finding(inspection)}</p>
      ${bad && station && !isLocked(station)
        ? html`<p class="lead"><strong>${t('{station} is still in service.', { station: called(station) })}</strong></p>
            <k-lock .station=${station} .reason=${text(inspection.notes, 400) || t('Inspected: not to be used')} @changed=${() => void this.load()}></k-lock>`
        : nothing}
      ${bad && station && isLocked(station) ? html`<p class="lead">${t('{station} is locked.', { station: called(station) })}</p>` : nothing}
      <div class="actions"><a class="button primary" href=${link(['care'])}>${t('Care')}</a><a class="button" href=${link([])}>${t('Next tool')}</a></div>`
  }
}

// lookAt is where to look.
function lookAt(kind: string | undefined): string {
  switch (kind) {
    case 'wheels':
      return t('Switched off and unplugged: cracks, chips, the ring of a bonded wheel, flanges, the marked speed. What did you find?')
    case 'holders':
      return t('Off the grinder: cracks, play in the joint, screws that hold, a leg that stays where it is set. What did you find?')
    default:
      return t('Switched off and unplugged: guards, rest, play in supports and bearings, lead and switch. What did you find?')
  }
}
