// Where does the support stand now? Then the answer says which way it goes and how many turns.
import { html } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { num, text } from '../../api/read'
import { isAngle, supportReading, stepsOf } from '../../cards'
import { exact, fromMm, toMm, unit } from '../../format'
import { noteStand } from '../../memory'
import type { Entered } from '../../parts/keypad'
import { Screen } from '../../parts/screen'
import { prefs } from '../../prefs'
import { measuredFrom, quantity } from '../../quantities'
import { t } from '../../words'
import { about } from './head'
import type { Work } from './work'

@customElement('k-stands')
export class Stands extends Screen {
  @property({ attribute: false }) work!: Work
  @property({ type: Number }) step = 0

  private get support() {
    return supportReading(stepsOf(this.work.setup)[this.step])
  }

  private entered(shown: number): void {
    const { work, support } = this
    if (!support) return
    const angle = isAngle(support.quantity), value = angle ? shown : toMm(shown)
    const words = exact(shown) + (angle ? '°' : ' ' + unit())
    noteStand(text(work.station.name), { support: text(work.setup?.basis?.support), quantity: support.quantity, value, text: words, time: Date.now() })
    history.back()
  }

  protected override render() {
    const { work, support } = this
    if (!support) return html`<h1>${t('Nothing to move here')}</h1>`
    const angle = isAngle(support.quantity), { setting } = support
    const start = work.stand ? (angle ? work.stand.value : fromMm(work.stand.value)) : angle ? num(setting.setDeg) : fromMm(num(setting.setMm) ?? 0)
    return html`
      ${about(work)}
      <h1>${t('{quantity} as it stands now', { quantity: quantity(support.quantity) })}</h1>
      <p class="lead">${measuredFrom(support.quantity, text(setting.measuredTo))}</p>
      <k-keypad .start=${start} .unit=${angle ? '°' : unit()} .places=${!angle && prefs.inch ? 3 : 1} .minus=${angle} .label=${quantity(support.quantity)}
        .action=${t('It stands there')} @entered=${(e: Entered) => this.entered(e.value)}></k-keypad>`
  }
}
