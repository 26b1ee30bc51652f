// The edge without a third dimension: both of the API's views. It needs nothing but what every browser has.
import { html, nothing, type TemplateResult } from 'lit'
import type { Edge } from '../api/types'
import { drawing } from '../figure/draw'
import { t } from '../words'

export const plain = (edge: Edge, why: string, again: (() => void) | undefined): TemplateResult => html`
  <div class="plain-edge">
    <p class="more" role="status">${why}${again ? html` <button type="button" class="link" @click=${again}>${t('Try again')}</button>` : nothing}</p>
    ${view(t('From above'), edge.planView)}${view(t('From the nose'), edge.endView)}
  </div>`

const view = (name: string, figure: Edge['planView']) =>
  figure ? html`<figure>${drawing(figure)}<figcaption>${name}</figcaption></figure>` : nothing
