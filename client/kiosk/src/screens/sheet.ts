// Where the code on a sheet leads: whether it may still be used.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { list, num, text } from '../api/read'
import * as shop from '../api/shop'
import { degrees } from '../format'
import { jobLink, type Job } from '../job'
import { readyIcon, stopIcon } from '../parts/icons'
import { refusal, sentence } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import type { Route } from '../route'
import { t } from '../words'

@customElement('k-sheet')
export class SheetScreen extends Screen {
  @property({ attribute: false }) route!: Route
  private readonly checked = new Load<shop.CheckedSheet>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('route')) this.check()
  }

  protected override reworded(): void {
    this.check()
  }

  private check(): void {
    const { query } = this.route
    void this.checked.run(() => shop.checkSheet(query))
  }

  // job is what the sheet is for, as things are now.
  private get job(): Job {
    const q = this.route.query
    return { station: q.get('station') ?? '', tool: q.get('tool') ?? '', recipe: (q.get('recipe') ?? '').split('/')[0] ?? '' }
  }

  protected override render() {
    const { value, problem } = this.checked, { job } = this
    if (!value) return problem ? html`<h1>${t('This sheet')}</h1>${refusal(problem)}` : waiting()
    return html`
      <h1>${value.superseded === true
        ? html`<span class="verdict stop">${stopIcon()} ${t('Do not set by this sheet any more')}</span>`
        : html`<span class="verdict">${readyIcon()} ${t('This sheet still holds')}</span>`}</h1>
      <p class="lead">${sentence(text(value.text, 800))}</p>
      ${this.changes(value)}
      ${job.station && (job.tool || job.recipe) ? html`<div class="actions"><a class="button primary" href=${jobLink(job, 'wheel')}>${t('Set it up as things are now')}</a></div>` : nothing}`
  }

  private changes(value: shop.CheckedSheet): TemplateResult | typeof nothing {
    const changes = list(value.changes, 40).filter((c) => text(c.text)), off = num(value.offDeg)
    if (changes.length === 0) return nothing
    return html`
      <section class="panel">
        <h2>${t('What changed since')}</h2>
        <ul class="changes">${changes.map((c) => html`<li>${c.supersedes === true ? html`<strong>${t('It counts:')}</strong> ` : nothing}${sentence(text(c.text, 600))}</li>`)}</ul>
        ${off !== undefined && Math.abs(off) >= 0.05
          ? html`<p>${off > 0
            ? t('Set by this sheet, the edge would come out {deg} blunter.', { deg: degrees(off) })
            : t('Set by this sheet, the edge would come out {deg} keener.', { deg: degrees(-off) })}</p>`
          : nothing}
      </section>`
  }
}
