// One station: whether it may be used, locking it in two taps, releasing it with a reason, its wheel, and who looked at it.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { Problem } from '../api/http'
import { called, id, text } from '../api/read'
import * as shop from '../api/shop'
import type { Station, Wheel } from '../api/types'
import { overdue, unsafe } from '../due'
import { ago, length } from '../format'
import { refusal } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { link } from '../route'
import { believed, isLocked, mounted, stateOf } from '../tiles'
import { t } from '../words'
import '../parts/lock'

@customElement('k-station')
export class StationScreen extends Screen {
  @property() station = ''
  private readonly here = new Load<{ station: Station; wheel: Wheel | undefined }>(this)
  private readonly change = new Load<Station>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('station')) void this.load()
  }

  override connectedCallback(): void {
    super.connectedCallback()
    void import('../care').catch(() => undefined) // its inspections, where they can be had
  }

  private load() {
    return this.here.follow(async () => {
      const [station, wheels] = await Promise.all([shop.station(shop.named('stations', this.station)), shop.wheels()])
      return { station, wheel: mounted(wheels, station) }
    })
  }

  private unlock(e: Event): void {
    e.preventDefault()
    const said = new FormData(e.target as HTMLFormElement), once = shop.onceId(), etag = text(this.here.value?.station.etag)
    const reason = String(said.get('reason') ?? ''), person = String(said.get('person') ?? '').trim()
    void this.change.run(() => shop.unlock(shop.named('stations', this.station), reason, person, once, etag)).then(() => {
      shop.forget() // refused or done, what is there now is shown: somebody may have locked it anew
      void this.load()
    })
  }

  protected override render() {
    const { value, problem } = this.here
    if (!value) return problem ? refusal(problem) : waiting()
    const { station, wheel } = value
    return html`
      <h1>${called(station)}</h1>
      <p class="lead">${stateOf(station, wheel)}${isLocked(station) && text(station.stateTime) ? html` <span class="more">${ago(station.stateTime)}</span>` : nothing}</p>
      ${isLocked(station) ? unsafe(station) : nothing}${overdue(station)}
      ${this.change.problem && !this.change.problem.passing ? this.refused(this.change.problem) : nothing}
      <div class="columns">
        ${isLocked(station) ? this.release() : this.lock(station)}
        ${wheel ? this.wheel(wheel) : html`<section class="panel"><h2>${t('Wheel')}</h2><p>${t('No wheel is mounted here.')}</p></section>`}
        <k-inspections .subject=${text(station.name)}></k-inspections>
        ${isLocked(station) ? this.lock(station) : nothing}
      </div>`
  }

  // refused: the station as it is now is shown beside it, and what was typed stays.
  private refused(problem: Problem): TemplateResult {
    return problem.reason === 'ETAG_MISMATCH'
      ? refusal(new Problem('refused', t('Somebody changed this station meanwhile. Read why it is locked now, then decide.')))
      : refusal(problem)
  }

  private lock(station: Station): TemplateResult {
    return html`<k-lock .station=${station} @changed=${() => void this.load()}></k-lock>`
  }

  private wheel(wheel: Wheel): TemplateResult {
    return html`
      <section class="panel">
        <h2>${t('Wheel')}</h2>
        <p><strong>${called(wheel)}</strong>${text(wheel.grit) ? html` · ${text(wheel.grit)}` : nothing}</p>
        <p>${believed(wheel)}</p>
        ${unsafe(wheel)}${overdue(wheel)}
        ${wheel.smallestDiameterMm ? html`<p class="more">${t('never below ⌀ {least}', { least: length(wheel.smallestDiameterMm) })}</p>` : nothing}
        ${wheel.flat ? nothing : html`<a class="button" href=${link(['wheel', id(wheel.name)])}>${t('Measure the wheel')}</a>`}
        <a class="button" href=${link(['wear', id(wheel.name)])}>${t('Its log and wear')}</a>
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
