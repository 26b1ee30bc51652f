// Before any number: is the wheel as large as everybody believes?
import { html, nothing } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { called, id, num, text } from '../../api/read'
import { ago, degrees, length } from '../../format'
import { jobLink } from '../../job'
import { driftOf } from '../../offline/drift'
import { cautions, isGrave } from '../../parts/cautions'
import { nextIcon } from '../../parts/icons'
import { bigNumber } from '../../parts/number'
import { Screen } from '../../parts/screen'
import { link } from '../../route'
import { t } from '../../words'
import { about } from './head'
import { Keys } from './keys'
import type { Work } from './work'

@customElement('k-wheel-first')
export class WheelFirst extends Screen {
  @property({ attribute: false }) work!: Work

  constructor() {
    super()
    new Keys(this, { next: () => this.next })
  }

  private get next(): string {
    return jobLink(this.work.job, 1)
  }

  protected override render() {
    const { work } = this, basis = work.setup?.basis
    const drift = driftOf(work.setup, work.wheel)
    const mm = drift?.newMm ?? num(basis?.wheelDiameterMm), measured = drift ? work.wheel?.measureTime : basis?.wheelMeasureTime, flat = mm === 0 || work.wheel?.flat !== undefined
    const [number = '', unit = ''] = length(mm).split(' ')
    const stale = num(basis?.staleByDeg) ?? 0
    return html`
      <article class="step">
        ${about(work)}
        <div class="step-body single">
          <div class="say">
            <h1>${t('The wheel first')}</h1>
            ${flat ? html`<p class="instruction">${t('A flat abrasive: nothing to measure.')}</p>` : bigNumber('⌀ ' + number, unit, t('Diameter'))}
            <p class="age">${text(work.wheel?.dressTime)
              ? t('Dressed {ago}, and not measured since', { ago: ago(work.wheel?.dressTime) })
              : text(measured) ? t('measured {ago}', { ago: ago(measured) }) : t('never measured')}</p>
            <p class="more">${called(work.wheel)}${stale > 0.05 ? html` · ${t('its age may put the edge off by {deg}', { deg: degrees(stale) })}` : nothing}</p>
            ${cautions(work.setup?.cautions, isGrave)}
          </div>
        </div>
        <nav class="bottom" aria-label=${t('Steps')}>
          ${work.wheel && !flat ? html`<a class="button" href=${link(['wheel', id(work.wheel.name)])}>${t('Measure it')}</a>` : html`<span></span>`}
          <a class="button primary" href=${this.next}>${flat ? t('Next') : t('It is right')} ${nextIcon()}</a>
        </nav>
      </article>`
  }
}
