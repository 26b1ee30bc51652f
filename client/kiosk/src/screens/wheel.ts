// A wheel is measured: across, by a strip around its rim, or it was dressed and not measured yet.
import { html, nothing } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { across, called, num } from '../api/read'
import * as shop from '../api/shop'
import type { Wheel, WheelMeasurement } from '../api/types'
import { overdue, unsafe } from '../due'
import { fromMm, length, toMm, unit } from '../format'
import type { Entered } from '../parts/keypad'
import { refusal } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { prefs } from '../prefs'
import { link } from '../route'
import { believed } from '../tiles'
import { t } from '../words'
import '../parts/keypad'

@customElement('k-wheel')
export class WheelScreen extends Screen {
  @property() wheel = ''
  @state() private around = false
  @state() private doubtful: WheelMeasurement | undefined
  private readonly known = new Load<Wheel>(this)
  private readonly saving = new Load<WheelMeasurement>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('wheel')) void this.known.follow(async () => (await shop.wheels()).find((w) => w.name === this.name) ?? (await this.missing()))
  }

  private get name(): string {
    return shop.named('wheels', this.wheel)
  }

  // missing asks for the wheel itself: the API says best that it is not there.
  private missing(): Promise<Wheel> {
    return shop.wheel(this.name)
  }

  private entered(value: number): void {
    const mm = Math.round(toMm(value) * 1000) / 1000
    const measurement = (this.around ? { aroundMm: mm } : { diameterMm: mm }) as WheelMeasurement
    if (doubt(this.known.value, across(measurement))) this.doubtful = measurement
    else this.save(measurement)
  }

  private save(measurement: WheelMeasurement): void {
    const once = shop.onceId()
    void this.saving.run(() => shop.measureWheel(this.name, measurement, once), () => history.back())
  }

  protected override render() {
    const { value, problem } = this.known
    if (!value) return problem ? refusal(problem) : waiting()
    if (this.doubtful) return this.askAgain(value, this.doubtful)
    const mm = num(value.diameterMm), start = mm === undefined || this.around ? undefined : fromMm(mm)
    return html`
      <h1>${t('Measure the wheel')}</h1>
      <p class="lead">${called(value)}: ${believed(value)}</p>
      ${unsafe(value)}${overdue(value)}
      ${this.saving.problem && !this.saving.problem.passing ? refusal(this.saving.problem) : nothing}
      <div class="columns">
        <section class="panel">
          <div class="switch wide" role="group" aria-label=${t('How was it measured?')}>
            <button type="button" aria-pressed=${!this.around} @click=${() => (this.around = false)}>${t('Across')}</button>
            <button type="button" aria-pressed=${this.around} @click=${() => (this.around = true)}>${t('Strip around the rim')}</button>
          </div>
          <p>${this.around
            ? t('Lay a strip of paper once around the rim, the wheel standing still, and measure its length.')
            : t('Across the middle, the wheel standing still and unplugged.')}</p>
          <button type="button" ?disabled=${this.saving.busy} @click=${() => this.save({ dressed: true } as WheelMeasurement)}>${t('It was dressed, and is not measured yet')}</button>
          <a class="button" href=${link(['wear', this.wheel])}>${t('Its log and wear')}</a>
        </section>
        <k-keypad .start=${start} .unit=${unit()} .places=${prefs.inch ? 3 : 1} .label=${this.around ? t('Length around') : t('Diameter')}
          .nudges=${this.around ? [] : prefs.inch ? [-0.04, -0.02, 0.02] : [-1, -0.5, 0.5]} .action=${t('Keep this')} .busy=${this.saving.busy}
          @entered=${(e: Entered) => this.entered(e.value)}></k-keypad>
      </div>`
  }

  private askAgain(wheel: Wheel, measurement: WheelMeasurement) {
    const mm = across(measurement)
    return html`
      <h1>⌀ ${length(mm)}?</h1>
      <p class="lead">${doubt(wheel, mm)}</p>
      <div class="actions">
        <button type="button" class="primary" @click=${() => (this.doubtful = undefined)}>${t('Measure again')}</button>
        <button type="button" @click=${() => { this.doubtful = undefined; this.save(measurement) }}>${t('It is so: keep it')}</button>
      </div>`
  }
}

// doubt is why a diameter is asked about before it is kept: most such are slips of a finger, or a diameter taken for a length around.
function doubt(wheel: Wheel | undefined, mm = 0): string {
  const fresh = num(wheel?.newDiameterMm), least = num(wheel?.smallestDiameterMm)
  if (fresh !== undefined && mm > fresh + 1) return t('That is more than this wheel had when it was new: {new}.', { new: length(fresh) })
  if (least !== undefined && mm < least) return t('That is below the smallest diameter it may be used to: {least}. Its station will give no numbers any more.', { least: length(least) })
  if (fresh !== undefined && mm < fresh / 2) return t('That is less than half of what this wheel had when it was new: {new}.', { new: length(fresh) })
  return ''
}
