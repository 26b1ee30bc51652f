// The whole set-up on one screen, and what can be done with it.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { id, list, num, text } from '../../api/read'
import * as shop from '../../api/shop'
import type { Step } from '../../api/types'
import { stepsOf } from '../../cards'
import { drawing } from '../../figure/draw'
import { ago, degrees, length } from '../../format'
import { jobLink } from '../../job'
import { cautions } from '../../parts/cautions'
import { printIcon } from '../../parts/icons'
import { refusal, sentence } from '../../parts/refusal'
import { Load, Screen } from '../../parts/screen'
import { prefs } from '../../prefs'
import { quantity } from '../../quantities'
import { t } from '../../words'
import { about } from './head'
import { Keys } from './keys'
import { grinds, tolerance, whichBevel } from './result'
import type { Work } from './work'

@customElement('k-whole')
export class Whole extends Screen {
  @property({ attribute: false }) work!: Work
  @state() private paper = ''
  private readonly printing = new Load<Blob>(this)

  constructor() {
    super()
    new Keys(this, { back: () => jobLink(this.work.job, this.work.cards.length) })
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    this.forget()
  }

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('work')) this.forget()
  }

  // forget lets go of a sheet that was printed: it says what was solved then, in the unit and language of then.
  private forget(): void {
    if (this.paper) URL.revokeObjectURL(this.paper)
    this.paper = ''
  }

  private async print(): Promise<void> {
    const { work } = this, { recipe, tool } = work
    const blob = await this.printing.run(() => shop.sheet({ ...work.request, include: [] }, prefs.letter))
    if (!blob || work !== this.work) return
    const file = new File([blob], `${id((tool ?? recipe)?.name) || 'sheet'}-${work.job.station}.pdf`, { type: 'application/pdf' })
    this.forget()
    this.paper = URL.createObjectURL(file)
  }

  private share(): void {
    const blob = this.printing.value
    if (!blob) return
    const file = new File([blob], 'sheet.pdf', { type: 'application/pdf' })
    navigator.share({ files: [file] }).catch(() => {}) // whoever thinks better of it need not be told
  }

  protected override render() {
    const { work } = this, steps = stepsOf(work.setup), last = steps.at(-1)
    const to = (page: string) => jobLink(work.job, page)
    return html`
      ${about(work)}
      <h1>${t('Whole set-up')}</h1>
      <div class="whole">
        <div>
          ${steps.map((s, i) => this.step(s, i))}
          <p class="more">${sentence(tolerance(work.recipe))}</p>
          <div class="actions">
            <a class="button primary" href=${to('prove')}>${t('Prove it')}</a>
            <a class="button" href=${to('log')}>${t('Log it')}</a>
            <a class="button" href=${to('see')}>${t('See the edge')}</a>
            <a class="button" href=${to('what-if')}>${t('What if…')}</a>
            ${this.sheet()}
          </div>
          ${this.printing.problem && !this.printing.problem.passing ? refusal(this.printing.problem) : nothing}
        </div>
        ${drawing(last?.figure)}
      </div>
      ${cautions(work.setup?.cautions)}
      ${this.basis()}`
  }

  private step(step: Step, i: number): TemplateResult {
    const { work } = this, cards = work.cards.map((c, n) => ({ c, n })).filter(({ c }) => c.step === i)
    const which = whichBevel(work.setup, i)
    return html`
      <section class="numbers">
        ${which ? html`<h2>${which}</h2>` : nothing}
        <dl>${cards.map(({ c, n }) => html`
          <div class="row">${c.kind === 'do'
            ? html`<dt class="all"><a href=${jobLink(work.job, n + 1)}>${sentence(c.text)}</a></dt><dd></dd>`
            : html`<dt><a href=${jobLink(work.job, n + 1)}>${quantity(c.quantity)}</a></dt><dd>${c.text}</dd>`}</div>`)}
        </dl>
        <p class="grinds">${grinds(step)}</p>
        ${text(step.improve?.text) ? html`<p class="more">${sentence(text(step.improve?.text))}</p>` : nothing}
      </section>`
  }

  private sheet(): TemplateResult {
    if (!this.paper) return html`<button type="button" ?disabled=${this.printing.busy} @click=${() => void this.print()}>${printIcon()} ${this.printing.busy ? t('One moment…') : t('Print the sheet')}</button>`
    return html`
      <a class="button" href=${this.paper} target="_blank" rel="noopener">${printIcon()} ${t('Open the sheet')}</a>
      ${typeof navigator.share === 'function' ? html`<button type="button" @click=${() => this.share()}>${t('Share the sheet')}</button>` : nothing}`
  }

  private basis(): TemplateResult {
    const b = this.work.setup?.basis, mm = num(b?.wheelDiameterMm)
    const proof = list(this.work.setup?.proof, 32).map((p) => num(p.differenceDeg)).filter((d) => d !== undefined)
    const words = [
      mm ? `⌀ ${length(mm)}${text(b?.wheelMeasureTime) ? ', ' + t('measured {ago}', { ago: ago(b?.wheelMeasureTime) }) : ''}` : '',
      text(b?.recipeRevision).replace(/^.*\/recipes\//, '').replace('/revisions/', ', ' + t('revision') + ' '),
      proof.length > 0 ? t('checked by another route: {deg} off', { deg: degrees(Math.max(...proof.map(Math.abs)), 3) }) : '',
      text(b?.engineVersion) ? 'arris ' + text(b?.engineVersion) : '',
    ]
    return html`<p class="more basis">${words.filter(Boolean).join(' · ')}</p>`
  }
}
