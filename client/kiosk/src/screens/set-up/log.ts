// What was done to the tool, in two taps, and undone as a correction while it is fresh.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { num, text } from '../../api/read'
import * as shop from '../../api/shop'
import type { Sharpening, SharpeningKind } from '../../api/types'
import { madeBy, lastOf } from '../../cards'
import { isKept } from '../../offline/outbox'
import { correctionOf, leftInWords } from '../../corrections'
import { readyIcon } from '../../parts/icons'
import { refusal } from '../../parts/refusal'
import { Load, Screen } from '../../parts/screen'
import { link, parse } from '../../route'
import { t } from '../../words'
import { about } from './head'
import type { Work } from './work'

const undoable = 10 * 60 * 1000 // ms

@customElement('k-log')
export class Log extends Screen {
  @property({ attribute: false }) work!: Work
  @state() private undone = false
  @state() private left = 0
  private readonly logging = new Load<Sharpening>(this)
  private readonly undoing = new Load<Sharpening>(this)
  private since = 0
  private timer = 0

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    window.clearInterval(this.timer)
  }

  // log sends under one id, so that a try again after silence is kept once.
  private log(kind: SharpeningKind): void {
    const { work } = this, step = lastOf(work.setup), once = shop.onceId()
    const reading = num(Number(parse(location.hash).query.get('reading') || NaN))
    const entry: Partial<Sharpening> = { kind, occurTime: new Date().toISOString(), settings: madeBy(step), station: text(work.station.name) }
    if (work.tool?.name) entry.tool = work.tool.name
    if (text(work.setup?.basis?.recipeRevision)) entry.recipe = text(work.setup?.basis?.recipeRevision)
    if (text(work.setup?.basis?.wheel)) entry.wheel = text(work.setup?.basis?.wheel)
    if (reading !== undefined) entry.bevelReadingDeg = reading
    const mm = num(work.setup?.basis?.wheelDiameterMm)
    if (mm) entry.wheelDiameterMm = mm
    void this.logging.run(() => shop.logSharpening(entry, once), () => this.begin())
  }

  private begin(): void {
    this.since = Date.now()
    this.tick()
    this.timer = window.setInterval(() => this.tick(), 1000)
  }

  private tick(): void {
    this.left = Math.max(0, Math.ceil((this.since + undoable - Date.now()) / 1000))
    if (this.left === 0) window.clearInterval(this.timer)
  }

  private undo(): void {
    const entry = this.logging.value, once = shop.onceId()
    if (!entry) return
    void this.undoing.run(() => shop.logSharpening(correctionOf(entry), once), () => (this.undone = true))
  }

  protected override render() {
    const problem = this.logging.problem ?? this.undoing.problem
    return html`
      ${about(this.work)}
      <h1>${t('Log it')}</h1>
      ${problem && !problem.passing ? refusal(problem) : nothing}
      ${this.undone ? this.said(t('Undone: the entry is corrected.')) : this.logging.value ? this.kept() : this.kinds()}`
  }

  private kinds(): TemplateResult {
    const kinds: [SharpeningKind, string, string][] = [
      ['SHARPENING_KIND_TOUCH_UP', t('Touch-up'), t('the whole edge, lightly')], ['SHARPENING_KIND_REGRIND', t('Regrind'), t('back to its grind')],
      ['SHARPENING_KIND_HONE', t('Hone'), t('the edge alone, by hand')], ['SHARPENING_KIND_GRIND_CHANGE', t('Change of grind'), t('to another grind')],
    ]
    return html`
      <p class="lead">${t('What was done?')}</p>
      <div class="tiles wide">${kinds.map(([kind, name, more]) => html`
        <button type="button" class="tile" ?disabled=${this.logging.busy} @click=${() => this.log(kind)}><span class="name">${name}</span><span class="more">${more}</span></button>`)}</div>`
  }

  private kept(): TemplateResult {
    return html`${this.said(isKept(this.logging.value) ? t('Kept on this device; it is sent when the server is back.') : t('Logged.'))}
      ${this.left > 0 ? html`<p><button type="button" ?disabled=${this.undoing.busy} @click=${() => this.undo()}>${t('Undo')}</button></p><p class="more">${leftInWords(Math.ceil(this.left / 60))}</p>` : nothing}`
  }

  private said(words: string): TemplateResult {
    return html`<p class="done" role="status">${readyIcon()} ${words}</p><div class="actions"><a class="button primary" href=${link([])}>${t('Next tool')}</a><a class="button" href=${link(['log'])}>${t('The log')}</a></div>`
  }
}
