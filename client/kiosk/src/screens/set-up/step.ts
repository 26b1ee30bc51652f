// One step: one number, as large as the hand, and the drawing with that dimension lit.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { num, text } from '../../api/read'
import type { Step } from '../../api/types'
import { isAngle, supportReading, type Card, stepsOf } from '../../cards'
import { drawing } from '../../figure/draw'
import { ago } from '../../format'
import { jobLink } from '../../job'
import { noteStand, standsAt } from '../../memory'
import { asOf } from '../../offline/answers'
import { cautions, isStop } from '../../parts/cautions'
import { backIcon, nextIcon } from '../../parts/icons'
import { bigNumber } from '../../parts/number'
import { sentence } from '../../parts/refusal'
import { Screen } from '../../parts/screen'
import { measuredFrom, quantity } from '../../quantities'
import { instead } from '../../route'
import { t } from '../../words'
import { about } from './head'
import { Keys } from './keys'
import { grinds, tolerance, whichBevel } from './result'
import type { Work } from './work'

@customElement('k-step')
export class StepPage extends Screen {
  @property({ attribute: false }) work!: Work
  @property({ type: Number }) number = 1

  constructor() {
    super()
    new Keys(this, { next: () => this.leave(), back: () => this.back })
  }

  private get card(): Card | undefined {
    return this.work.cards[this.number - 1]
  }

  private get step(): Step | undefined {
    return stepsOf(this.work.setup)[this.card?.step ?? 0]
  }

  /** grindsNow: a bevel is set up here, and another comes after it. */
  private get grindsNow(): boolean {
    return this.card?.last === true && this.card.step < stepsOf(this.work.setup).length - 1
  }

  private get back(): string {
    return jobLink(this.work.job, this.number > 1 ? this.number - 1 : 'wheel')
  }

  private get next(): string {
    return jobLink(this.work.job, this.number < this.work.cards.length ? this.number + 1 : 'whole')
  }

  // leave notes where the support stands now: it was set to the number on this page.
  private leave(): string {
    const { card, work } = this, support = supportReading(this.step)
    if (card?.last && support && this.step?.side !== 'SIDE_SECOND') {
      const value = num(isAngle(support.quantity) ? support.setting.setDeg : support.setting.setMm)
      const at = { support: text(work.setup?.basis?.support), quantity: support.quantity, text: text(support.setting.text), time: Date.now() }
      if (value !== undefined) noteStand(text(work.station.name), { ...at, value })
    }
    return this.next
  }

  protected override willUpdate(): void {
    if (!this.card) instead(jobLink(this.work.job, 'whole'))
  }

  protected override render() {
    const { card, step, work } = this
    if (!card || !step) return nothing
    const all = work.cards.length
    return html`
      <article class="step">
        ${about(work)}
        <p class="progress" role="img" aria-label=${t('Step {n} of {all}', { n: this.number, all })}>
          ${work.cards.map((_, i) => html`<span class=${i < this.number ? 'done' : ''}></span>`)}
        </p>
        <div class=${step.figure ? 'step-body' : 'step-body single'}>
          <div class="say">
            ${cautions(work.setup?.cautions, isStop)}
            <p class="kicker">${t('Step {n} of {all}', { n: this.number, all })}${whichBevel(work.setup, card.step) ? html` · ${whichBevel(work.setup, card.step)}` : nothing}</p>
            ${card.kind === 'do' ? html`<h1 class="instruction">${sentence(card.text)}</h1>` : this.toSet(card)}
            ${card.last ? this.way(step) : nothing}
          </div>
          ${drawing(step.figure, card.part || text(step.figurePart))}
          <div class="tell">
            <div class="means">
              ${card.means ? html`<p class="more">${card.means}</p>` : nothing}
              ${this.number === all ? html`<a class="link" href=${jobLink(work.job, 'see')}>${t('See the edge')}</a>` : nothing}
            </div>
            ${card.last ? this.result(step) : nothing}
          </div>
        </div>
        <nav class="bottom" aria-label=${t('Steps')}>
          <a class="button back" href=${this.back}>${backIcon()} <span>${t('Back')}</span></a>
          <a class="button quiet" href=${jobLink(work.job, 'whole')}>${t('Whole set-up')}</a>
          ${this.grindsNow ? html`<p class="grind-now">${t('Grind this bevel now, then go on.')}</p>` : nothing}
          <a class="button primary" href=${this.next} @click=${() => void this.leave()}>${t('Next')} ${nextIcon()}</a>
        </nav>
      </article>`
  }

  private toSet(card: Card): TemplateResult {
    const from = measuredFrom(card.quantity, card.to)
    return html`
      <h1>${quantity(card.quantity)}</h1>
      ${bigNumber(card.number, card.unit, quantity(card.quantity))}
      ${from ? html`<p class="from">${from}</p>` : nothing}`
  }

  /** way is which way the support goes from where it stands, and how far the screw is turned. */
  private way(step: Step): TemplateResult | typeof nothing {
    const { work } = this, move = text(step.support?.move?.text), { stand } = work
    const read = jobLink(work.job, 'stands', { step: String(this.card?.step ?? 0) })
    const angle = isAngle(supportReading(step)?.quantity ?? '')
    if (!move) return step.side === 'SIDE_SECOND' || asOf(work.setup) ? nothing : html`<p><a class="button small" href=${read}>${angle ? t('Which way, how far?') : t('Which way, how many turns?')}</a></p>`
    return html`
      <p class="move">${move}</p>
      <p class="more">${stand ? t('counted from {text}, noted here {ago}', { text: standsAt(stand), ago: ago(new Date(stand.time).toISOString()) }) : nothing}
        <a class="link" href=${read}>${t('It stands elsewhere')}</a></p>`
  }

  private result(step: Step): TemplateResult {
    return html`
      <p class="grinds">${grinds(step)}</p>
      ${this.grindsNow ? cautions(this.work.setup?.cautions, (c) => !isStop(c)) : nothing}
      <p class="more">${sentence(tolerance(this.work.recipe))} ${sentence(text(step.improve?.text))}</p>`
  }
}
