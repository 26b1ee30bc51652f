// What was ground lately. A fresh entry can be taken back: another entry says that it was a mistake, and both stay to be read.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement } from 'lit/decorators.js'
import * as care from '../api/care'
import { id, num, text } from '../api/read'
import * as shop from '../api/shop'
import type { Sharpening } from '../api/types'
import { clock, day, note, timeOf } from '../care/said'
import { correctionOf, leftInWords, minutesLeft } from '../corrections'
import { ago, degrees } from '../format'
import { refusal } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { t } from '../words'

const shown = 30
const often = 20_000 // ms

@customElement('k-entries')
export class Entries extends Screen {
  private readonly log = new Load<Sharpening[]>(this)
  private readonly undoing = new Load<Sharpening>(this)
  private timer = 0

  override connectedCallback(): void {
    super.connectedCallback()
    this.load()
    this.timer = window.setInterval(() => this.requestUpdate(), often)
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    window.clearInterval(this.timer)
  }

  private load(): void {
    void this.log.run(() => care.entries())
  }

  private undo(entry: Sharpening): void {
    const once = shop.onceId()
    void this.undoing.run(() => shop.logSharpening(correctionOf(entry), once), () => this.load())
  }

  protected override render() {
    const { value, problem } = this.log
    return html`
      <h1>${t('What was ground lately')}</h1>
      ${this.undoing.problem && !this.undoing.problem.passing ? refusal(this.undoing.problem) : nothing}
      ${!value ? (problem ? refusal(problem) : waiting()) : value.length === 0
        ? html`<p class="empty">${t('Nothing was logged yet.')}</p>`
        : html`<section class="panel"><ul class="care-list">${value.slice(0, shown).map((s) => this.entry(s, value))}</ul></section>`}`
  }

  private entry(s: Sharpening, all: Sharpening[]): TemplateResult {
    const taken = all.some((other) => text(s.name) !== '' && other.corrects === s.name)
    const left = taken || text(s.corrects) ? 0 : minutesLeft(s)
    const what = [kindOf(s), text(s.tool) ? id(s.tool) : id(text(s.recipe).replace(/\/revisions\/.*/, ''))].filter(Boolean).join(': ')
    const more = [id(s.station), num(s.bevelReadingDeg) === undefined ? '' : t('bevel reading {deg}', { deg: degrees(s.bevelReadingDeg) }), ago(s.occurTime), when(s.occurTime)].filter(Boolean).join(' · ')
    return html`
      <li class=${taken ? 'taken' : ''}>
        <div><span class="name">${taken ? html`<s>${what}</s>` : text(s.corrects) ? t('Correction: {entry}', { entry: what }) : what}</span>
          ${taken ? html`<strong>${t('taken back')}</strong>` : nothing}
          <span class="more">${more}</span>${text(s.notes) ? note(s.notes) : nothing}</div>
        ${left > 0 ? html`<div class="undo"><button type="button" ?disabled=${this.undoing.busy} @click=${() => this.undo(s)}>${t('Undo')}</button><span class="more">${leftInWords(left)}</span></div>` : nothing}
      </li>`
  }
}

function when(time: unknown): string {
  const ms = timeOf(time)
  return ms === undefined ? '' : `${day(ms)}, ${clock(ms)}`
}

function kindOf(s: Sharpening): string {
  switch (s.kind) {
    case 'SHARPENING_KIND_HONE':
      return t('Hone')
    case 'SHARPENING_KIND_TOUCH_UP':
      return t('Touch-up')
    case 'SHARPENING_KIND_REGRIND':
      return t('Regrind')
    case 'SHARPENING_KIND_GRIND_CHANGE':
      return t('Change of grind')
    default:
      return ''
  }
}
