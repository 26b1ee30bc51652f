// Tiles: a thing to go to, with its state in words.
import { html, nothing, type TemplateResult } from 'lit'
import { called, id, text } from './api/read'
import type { Recipe, Station, Tool, Wheel } from './api/types'
import { isUnsafe, unsafe } from './due'
import { ago, length } from './format'
import { lockIcon, readyIcon } from './parts/icons'
import { link } from './route'
import { t } from './words'

export const isLocked = (s: Station | undefined) => s?.state === 'STATION_STATE_LOCKED'

/** mounted is the wheel on a station. */
export const mounted = (wheels: Wheel[], station: Station | undefined) => wheels.find((w) => station?.name && w.station === station.name)

/** believed is a wheel's diameter and since when. */
export function believed(wheel: Wheel | undefined): string {
  if (!wheel) return t('no wheel is mounted')
  if (wheel.flat) return t('flat abrasive')
  const size = '⌀ ' + length(wheel.diameterMm)
  if (text(wheel.dressTime)) return t('{size}, dressed since and not measured', { size })
  return text(wheel.measureTime) ? t('{size}, measured {ago}', { size, ago: ago(wheel.measureTime) }) : t('{size}, never measured', { size })
}

/** stateOf is a station's state in words: in service is what was not found unfit, nor the wheel on it. */
export function stateOf(station: Station | undefined, wheel?: Wheel): TemplateResult {
  if (!isLocked(station) && (isUnsafe(station) || isUnsafe(wheel))) return html`${unsafe(station)}${unsafe(wheel, true)}`
  return isLocked(station)
    ? html`<span class="state locked">${lockIcon()} <span>${t('Locked')}${text(station?.stateReason) ? html`: ${text(station?.stateReason)}` : nothing}</span></span>`
    : html`<span class="state ready">${readyIcon()} <span>${t('In service')}</span></span>`
}

export const toolTile = (tool: Tool) => html`
  <a class="tile" href=${link(['tool', id(tool.name)])}>
    <span class="name">${called(tool)}</span>
    <span class="more">${[id(tool.recipe), text(tool.location)].filter(Boolean).join(' · ') || t('no recipe yet')}</span>
  </a>`

export const recipeTile = (recipe: Recipe) => html`
  <a class="tile" href=${link(['recipe', id(recipe.name)])}>
    <span class="name">${called(recipe)}</span>
    <span class="more">${t('recipe {id}', { id: id(recipe.name) })}</span>
  </a>`
