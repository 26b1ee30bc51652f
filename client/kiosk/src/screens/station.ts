// One station: whether it may be used, locking it in two taps, releasing it with a reason, and its wheel.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { called, id, text } from '../api/read'
import * as shop from '../api/shop'
import type { Station, Wheel } from '../api/types'
import { ago, length } from '../format'
import { lockIcon } from '../parts/icons'
import { refusal } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { link } from '../route'
import { believed, isLocked, mounted, stateOf } from '../tiles'
import { t } from '../words'

@customElement('k-station')
export class StationScreen extends Screen {
  @property() station = ''
  @state() private locking = false
  private readonly here = new Load<{ station: Station; wheel: Wheel | undefined }>(this)
  private readonly change = new Load<Station>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('station')) void this.load()
  }

  private load() {
    return this.here.follow(async () => {
      const [station, wheels] = await Promise.all([shop.station(shop.named('stations', this.station)), shop.wheels()])
      return { station, wheel: mounted(wheels, station) }
    })
  }

  private lock(reason: string): void {
    const once = shop.onceId()
    void this.change.run(() => shop.lock(shop.named('stations', this.station), reason, once), () => this.changed())
  }

  private changed(): void {
    this.locking = false
    void this.load()
  }

  private unlock(e: Event): void {
    e.preventDefault()
    const said = new FormData(e.target as HTMLFormElement), once = shop.onceId()
    const reason = String(said.get('reason') ?? ''), person = String(said.get('person') ?? '').trim()
    void this.change.run(() => shop.unlock(shop.named('stations', this.station), reason, person, once), () => this.changed())
  }

  protected override render() {
    const { value, problem } = this.here
    if (!value) return problem ? refusal(problem) : waiting()
    const { station, wheel } = value
    return html`
      <h1>${called(station)}</h1>
      <p class="lead">${stateOf(station)}${isLocked(station) && text(station.stateTime) ? html` <span class="more">${ago(station.stateTime)}</span>` : nothing}</p>
      ${this.change.problem && !this.change.problem.passing ? refusal(this.change.problem) : nothing}
      <div class="columns">
        ${isLocked(station) ? this.release() : this.lockKeys()}
        ${wheel ? this.wheel(wheel) : html`<section class="panel"><h2>${t('Wheel')}</h2><p>${t('No wheel is mounted here.')}</p></section>`}
      </div>`
  }

  private wheel(wheel: Wheel): TemplateResult {
    return html`
      <section class="panel">
        <h2>${t('Wheel')}</h2>
        <p><strong>${called(wheel)}</strong>${text(wheel.grit) ? html` · ${text(wheel.grit)}` : nothing}</p>
        <p>${believed(wheel)}</p>
        ${wheel.smallestDiameterMm ? html`<p class="more">${t('never below ⌀ {least}', { least: length(wheel.smallestDiameterMm) })}</p>` : nothing}
        ${wheel.flat ? nothing : html`<a class="button" href=${link(['wheel', id(wheel.name)])}>${t('Measure the wheel')}</a>`}
      </section>`
  }

  private lockKeys(): TemplateResult {
    const reasons = [t('Somebody moved it'), t('Wheel damaged'), t('Noise or shaking'), t('Another reason')]
    return html`
      <section class="panel">
        <h2>${t('Take it out of service')}</h2>
        ${this.locking
          ? html`<p>${t('Why? It is locked as soon as you tap a reason.')}</p>
              <div class="keys-column">${reasons.map((r) => html`<button type="button" class="danger" ?disabled=${this.change.busy} @click=${() => this.lock(r)}>${r}</button>`)}
              <button type="button" @click=${() => (this.locking = false)}>${t('Do not lock it')}</button></div>`
          : html`<p>${t('Everybody may lock a station. Its numbers are hidden until it is released.')}</p>
              <button type="button" class="danger" @click=${() => (this.locking = true)}>${lockIcon()} ${t('Lock this station')}</button>`}
      </section>`
  }

  private release(): TemplateResult {
    return html`
      <form class="panel" @submit=${(e: Event) => this.unlock(e)}>
        <h2>${t('Release it')}</h2>
        <label>${t('What was put right?')}<textarea name="reason" required maxlength="500" rows="2"></textarea></label>
        <label>${t('Who releases it?')}<input name="person" required maxlength="60" pattern="[A-Za-z0-9][A-Za-z0-9._:@\\-]*" autocomplete="off"
          title=${t('A name or number without spaces, as the shop’s records have it')} /></label>
        <label class="tick"><input type="checkbox" required /><span>${t('I look after this shop’s machines (role: keeper)')}</span></label>
        <button class="primary" ?disabled=${this.change.busy}>${t('Release the station')}</button>
      </form>`
  }
}
