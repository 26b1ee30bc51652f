// What the colours on the edge mean, in words and numbers.
import { html, svg, type TemplateResult } from 'lit'
import { degrees } from '../format'
import { t } from '../words'
import type { Scale } from './edge'
import { stops } from './scale'

export const legend = (scale: Scale): TemplateResult => html`
  <figure class="legend">
    <svg viewBox="0 0 100 6" preserveAspectRatio="none" role="img" aria-label=${t('Colours from the keenest wedge angle, dark, to the bluntest, light')}>
      <defs><linearGradient id="wedge">${stops.map((c, i) => svg`<stop offset=${i / (stops.length - 1)} stop-color=${c} />`)}</linearGradient></defs>
      <rect width="100" height="6" fill="url(#wedge)" />
    </svg>
    <figcaption><span>${t('keenest {angle}', { angle: degrees(scale.keen) })}</span><span>${t('bluntest {angle}', { angle: degrees(scale.blunt) })}</span></figcaption>
  </figure>`
