// What was entered here and is not with the server yet; and what the server would not have, to be looked at.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement } from 'lit/decorators.js'
import { id, num, text } from '../api/read'
import { length, moment } from '../format'
import { outbox } from '../offline/outbox'
import type { Entry } from '../offline/store'
import { readyIcon, warnIcon } from '../parts/icons'
import { sentence } from '../parts/refusal'
import { Screen } from '../parts/screen'
import { t } from '../words'

@customElement('k-waiting')
export class Waiting extends Screen {
  private readonly redraw = () => this.requestUpdate()

  override connectedCallback(): void {
    super.connectedCallback()
    outbox.addEventListener('change', this.redraw)
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    outbox.removeEventListener('change', this.redraw)
  }

  protected override render() {
    const refused = outbox.entries.filter((e) => e.refused), waiting = outbox.entries.filter((e) => !e.refused)
    return html`
      <h1>${t('Entries on this device')}</h1>
      ${outbox.entries.length === 0 ? html`<p class="done" role="status">${readyIcon()} ${t('Nothing waits: the server has it all.')}</p>` : nothing}
      ${refused.length > 0 ? html`<section><h2>${t('Needs a look')}</h2><ul class="entries">${refused.map((e) => this.refused(e))}</ul></section>` : nothing}
      ${waiting.length > 0 ? html`<section><h2>${t('Sent when the server is back')}</h2><ul class="entries">${waiting.map((e) => html`<li class="panel">${this.entry(e)}</li>`)}</ul></section>` : nothing}`
  }

  private entry(e: Entry): TemplateResult {
    return html`<p><strong>${what(e)}</strong> ${id(e.about)}</p><p class="more">${moment(e.time)}</p>`
  }

  private refused(e: Entry): TemplateResult {
    return html`
      <li class="panel">
        ${this.entry(e)}
        <p class="state refused">${warnIcon()} <span>${sentence(text(e.refused, 1000))}</span></p>
        <div class="actions">
          <button type="button" @click=${() => void outbox.again(e)}>${t('Send it again')}</button>
          <button type="button" class="danger" @click=${() => void outbox.discard(e.n)}>${t('Discard it')}</button>
        </div>
      </li>`
  }
}

function what(e: Entry): string {
  const body = e.body as { diameterMm?: number; aroundMm?: number; lockReason?: string; corrects?: string }
  switch (e.kind) {
    case 'wheel':
      return num(body.diameterMm) !== undefined ? t('Wheel measured, ⌀ {size}:', { size: length(body.diameterMm) })
        : num(body.aroundMm) !== undefined ? t('Wheel measured, {size} around:', { size: length(body.aroundMm) }) : t('Wheel dressed:')
    case 'lock':
      return t('Station locked, {reason}:', { reason: text(body.lockReason, 80) })
    case 'inspection':
      return t('Inspected:')
    default:
      return body.corrects ? t('Sharpening undone:') : t('Sharpened:')
  }
}
