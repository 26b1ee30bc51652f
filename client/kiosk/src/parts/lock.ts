// Taking a station out of service: two taps on the same place, or a tap on why. What somebody else said meanwhile is never written over.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { text } from '../api/read'
import * as shop from '../api/shop'
import type { Station } from '../api/types'
import { isLocked } from '../tiles'
import { t } from '../words'
import { lockIcon } from './icons'
import { refusal } from './refusal'
import { Load, Screen } from './screen'

const bounce = 400 // ms: a second tap so soon is the first one's shaking

@customElement('k-lock')
export class Lock extends Screen {
  @property({ attribute: false }) station!: Station
  /** Said already; otherwise it is asked. */
  @property() reason = ''
  @state() private asking = false
  @state() private own = ''
  /** Somebody else locked it first: what this one wanted to say. */
  @state() private late: { theirs: string; mine: string } | undefined
  private since = 0
  private readonly change = new Load<Station>(this)

  private ask(): void {
    this.asking = true
    this.since = performance.now()
  }

  private sure(reason: string): void {
    if (performance.now() - this.since > bounce) this.lock(reason)
  }

  private lock(mine: string): void {
    const once = shop.onceId(), name = text(this.station.name)
    const job = async () => {
      shop.forget()
      const now = await shop.station(name)
      if (!isLocked(now)) return shop.lock(name, mine, once)
      this.late = { theirs: text(now.stateReason, 500), mine }
      return now
    }
    void this.change.run(job, () => this.late || this.done())
  }

  /** add says one more reason for a lock that there is. */
  private add(theirs: string, mine: string): void {
    const once = shop.onceId()
    void this.change.run(() => shop.lock(text(this.station.name), theirs ? `${theirs}; ${mine}` : mine, once), () => this.done())
  }

  private done(): void {
    this.asking = false
    this.own = ''
    this.late = undefined
    this.dispatchEvent(new Event('changed'))
  }

  private typed(e: Event): void {
    e.preventDefault()
    const own = this.own.trim()
    if (own === '') return
    if (isLocked(this.station)) this.add(text(this.station.stateReason, 500), own)
    else this.lock(own)
  }

  protected override render() {
    const { problem } = this.change
    return html`
      <section class="panel">
        <h2>${isLocked(this.station) ? t('More to say?') : t('Take it out of service')}</h2>
        ${problem && !problem.passing ? refusal(problem) : nothing}
        ${this.late ? this.meanwhile(this.late) : isLocked(this.station) ? this.words(t('Add to the reason')) : this.keys()}
      </section>`
  }

  // keys: the first is the same one for both taps, so that neither finger nor focus has to move.
  private keys(): TemplateResult {
    const { asking, reason } = this
    const tapped = () => (asking ? this.sure(reason || t('Locked in a hurry; ask before use')) : this.ask())
    return html`
      <button type="button" class=${asking ? 'danger sure wide' : 'danger wide'} ?disabled=${this.change.busy} @click=${tapped}>${lockIcon()} ${asking ? t('Lock it now') : t('Lock this station')}</button>
      ${asking ? this.reasons() : html`<p>${t('Everybody may lock a station. Its numbers are hidden until it is released.')}</p>`}`
  }

  private reasons(): TemplateResult {
    const reasons = this.reason ? [] : [t('Somebody moved it'), t('Wheel damaged'), t('Noise or shaking'), t('Guard or rest loose')]
    return html`
      <p role="status">${this.reason ? html`${t('Why?')} <span dir="auto">“${this.reason}”</span>` : t('Tap again, or tap why: it is locked at once.')}</p>
      ${reasons.length > 0 ? html`<div class="keys-column">${reasons.map((r) => html`<button type="button" class="danger" ?disabled=${this.change.busy} @click=${() => this.lock(r)}>${r}</button>`)}</div>` : nothing}
      ${this.reason ? nothing : this.words(t('Lock it for this reason'))}
      <button type="button" class="wide" @click=${() => (this.asking = false)}>${t('Do not lock it')}</button>`
  }

  private words(action: string): TemplateResult {
    return html`
      <form class="words" @submit=${(e: Event) => this.typed(e)}>
        <label>${t('In your own words')}<input maxlength="400" autocomplete="off" dir="auto" .value=${this.own} @input=${(e: Event) => (this.own = (e.target as HTMLInputElement).value)} /></label>
        <button class="danger" ?disabled=${this.change.busy || this.own.trim() === ''}>${action}</button>
      </form>`
  }

  private meanwhile({ theirs, mine }: { theirs: string; mine: string }): TemplateResult {
    return html`
      <div role="alert" class="refusal">
        <h3>${t('Somebody else locked it meanwhile')}</h3>
        <p>${t('Their reason stays:')} <span dir="auto">“${theirs}”</span></p>
        <p>${t('Yours is not kept yet:')} <span dir="auto">“${mine}”</span></p>
      </div>
      <button type="button" class="danger wide" ?disabled=${this.change.busy} @click=${() => this.add(theirs, mine)}>${t('Add mine to it')}</button>
      <button type="button" class="wide" @click=${() => this.done()}>${t('Theirs is enough')}</button>`
  }
}
