// Setting a station up for a tool, page by page: the wheel's age, one number a step, the whole, and what follows from it.
import { html, type TemplateResult } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { piece } from '../api/http'
import { called, text } from '../api/read'
import { jobLink, jobOf, taken, toolLink, type Job } from '../job'
import type { Way } from '../api/types'
import { connection } from '../offline/connection'
import { lockIcon } from '../parts/icons'
import { refusal } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { instead, link, type Route } from '../route'
import { isLocked } from '../tiles'
import { t } from '../words'
import { about } from './set-up/head'
import { worked, type Work } from './set-up/work'
import './set-up/log'
import './set-up/prove'
import './set-up/stands'
import './set-up/step'
import './set-up/what-if'
import './set-up/wheel-first'
import './set-up/whole'

/** Pages that ask the engine something new. */
const needsServer = ['what-if', 'prove', 'see', 'stands']

@customElement('k-set-up')
export class SetUp extends Screen {
  @property({ attribute: false }) route!: Route
  private readonly work = new Load<Work>(this)
  private readonly later = new Load<unknown>(this)
  private key = ''

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('route')) this.load()
  }

  protected override reworded(): void {
    this.load()
  }

  // load asks anew for every page: somebody may have locked the station or measured the wheel since.
  private load(): void {
    const job = jobOf(this.route), key = jobLink(job, '')
    if (key !== this.key) this.work.clear()
    this.key = key
    void this.work.follow(() => worked(job))
  }

  protected override render(): TemplateResult {
    const { value, problem } = this.work
    const job = jobOf(this.route)
    if (problem && !problem.passing) return this.refused(job)
    if (!value) return problem ? refusal(problem) : waiting()
    if (isLocked(value.station)) return this.locked(value)
    return this.page(value)
  }

  private page(work: Work): TemplateResult {
    const page = this.route.path[2] ?? 'wheel'
    if (connection.away && needsServer.includes(page)) return this.without(work)
    switch (page) {
      case 'wheel':
        return html`<k-wheel-first .work=${work}></k-wheel-first>`
      case 'whole':
        return html`<k-whole .work=${work}></k-whole>`
      case 'what-if':
        return html`<k-what-if .work=${work}></k-what-if>`
      case 'prove':
        return html`<k-prove .work=${work}></k-prove>`
      case 'see':
        return this.see(work)
      case 'log':
        return html`<k-log .work=${work}></k-log>`
      case 'stands':
        return html`<k-stands .work=${work} .step=${Number(this.route.query.get('step')) || 0}></k-stands>`
      default:
        return html`<k-step .work=${work} .number=${Number(page) || 1}></k-step>`
    }
  }

  // see comes when it is asked for: what draws it is as large as all the rest.
  private see(work: Work): TemplateResult {
    if (!this.later.value && !this.later.busy && !this.later.problem) void this.later.run(() => piece(import('./set-up/see')))
    if (!this.later.value) return this.later.problem ? refusal(this.later.problem) : waiting()
    return html`<k-see .work=${work}></k-see>`
  }

  // without says what the engine has to be asked for.
  private without(work: Work): TemplateResult {
    return html`
      ${about(work)}
      <h1>${t('Not without a connection')}</h1>
      <p class="lead">${t('This is calculated by the server, which cannot be reached now. The numbers kept on this device stay as they are.')}</p>
      <div class="actions"><a class="button primary" href=${jobLink(work.job, 'whole')}>${t('Whole set-up')}</a></div>`
  }

  private refused(job: Job): TemplateResult {
    const problem = this.work.problem!
    const take = (way: Way) => instead(jobLink(taken(job, way), 'wheel'))
    return html`
      <h1>${t('No set-up here')}</h1>
      ${refusal(problem, take)}
      <div class="actions"><a class="button" href=${toolLink(job)}>${t('Another station')}</a></div>`
  }

  private locked(work: Work): TemplateResult {
    const { station } = work
    return html`
      <div class="locked-screen">
        ${lockIcon()}
        <h1>${t('{station} is locked', { station: called(station) })}</h1>
        <p class="lead">${text(station.stateReason) || t('No reason was given.')}</p>
        <div class="actions">
          <a class="button primary" href=${toolLink(work.job)}>${t('Another station')}</a>
          <a class="button" href=${link(['station', work.job.station])}>${t('Release it')}</a>
        </div>
      </div>`
  }
}
