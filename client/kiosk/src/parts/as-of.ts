// Under what is shown from what was kept: since when, and what was measured here since.
import { html, nothing, type TemplateResult } from 'lit'
import type { Setup, Wheel } from '../api/types'
import { degrees, length, moment } from '../format'
import { asOf } from '../offline/answers'
import { connection } from '../offline/connection'
import { driftOf, type Drift } from '../offline/drift'
import { t } from '../words'

/** asOfNote is shown wherever a set-up's numbers are. */
export function asOfNote(setup: Setup | undefined, wheel: Wheel | undefined): TemplateResult | typeof nothing {
  const kept = asOf(setup), drift = driftOf(setup, wheel)
  if (!kept && !drift) return nothing
  return html`<div class="as-of" role="note">
    ${kept ? html`<p>${connection.away
      ? t('As of {time} — no connection', { time: moment(kept.time) })
      : t('As of {time} — the server is being asked', { time: moment(kept.time) })}</p>` : nothing}
    ${drift ? html`<p>${estimate(drift)}</p>` : nothing}
  </div>`
}

function estimate({ oldMm, newMm, setDeg, leftDeg }: Drift): TemplateResult {
  return html`${t('Wheel now ⌀ {new}, not {old}.', { new: length(newMm), old: length(oldMm) })}
    ${setDeg === undefined ? nothing : html`<strong>${t('Estimate: set so, the edge comes out {change}.', { change: change(setDeg) })}</strong>`}
    ${leftDeg === undefined ? nothing : html`<span class="left">${t('Estimate: support left where it stood, {change}.', { change: change(leftDeg) })}</span>`}`
}

const change = (deg: number) => (deg < 0 ? t('{by} keener', { by: degrees(-deg, 2) }) : t('{by} blunter', { by: degrees(deg, 2) }))
