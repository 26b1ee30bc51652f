// Where the code on a label leads: to what it is stuck on.
import { html } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { text } from '../api/read'
import * as shop from '../api/shop'
import { placeOf } from '../codes'
import { refusal } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { instead, type Route } from '../route'
import { t } from '../words'

@customElement('k-code')
export class CodeScreen extends Screen {
  @property({ attribute: false }) route!: Route
  private readonly found = new Load<shop.Resolved>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    const code = this.route.query.get('code') ?? ''
    if (changed.has('route')) void this.found.run(() => shop.resolve(code), (found) => this.lead(found))
  }

  private lead(found: shop.Resolved): void {
    const place = placeOf(found)
    if (place) instead(place)
  }

  protected override render() {
    const { value, problem } = this.found
    if (problem) return html`<h1>${t('What is this code of?')}</h1>${refusal(problem)}`
    return value && !placeOf(value)
      ? html`<h1>${text(value.displayName) || text(value.name)}</h1><p class="lead">${t('There is no page for this here.')}</p>`
      : waiting()
  }
}
