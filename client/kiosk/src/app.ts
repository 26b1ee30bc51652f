// The frame around the screens: where one is, the unit, the banner.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, state } from 'lit/decorators.js'
import { piece, Problem } from './api/http'
import { tellNews } from './offline/answers'
import { connection } from './offline/connection'
import { outbox } from './offline/outbox'
import { backIcon, optionsIcon, warnIcon } from './parts/icons'
import { refusal, sentence } from './parts/refusal'
import { Announcement, Load, Screen, waiting } from './parts/screen'
import { prefs } from './prefs'
import { link, parse, type Route } from './route'
import { t } from './words'
import './screens/code'
import './screens/find'
import './screens/set-up'
import './screens/station'
import './screens/wheel'
import './screens/waiting'
import './screens/where'

@customElement('k-app')
export class App extends Screen {
  @state() private route: Route = parse(location.hash)
  @state() private problem: Problem | undefined
  private readonly care = new Load<unknown>(this)
  private retryCall: (() => void) | undefined

  override connectedCallback(): void {
    super.connectedCallback()
    this.dress()
    window.addEventListener('hashchange', () => this.moved())
    window.addEventListener('arris-announce', (e) => {
      if (e instanceof Announcement) [this.problem, this.retryCall] = [e.problem, e.again]
    })
    connection.addEventListener('change', () => this.reached())
    outbox.addEventListener('change', () => this.requestUpdate())
  }

  protected override reworded(): void {
    this.dress()
    this.requestUpdate()
  }

  /** dress puts on the page what a style sheet has to know. */
  private dress(): void {
    const page = document.documentElement
    page.lang = prefs.language
    page.dataset['look'] = prefs.look
    page.classList.toggle('large', prefs.large)
  }

  private moved(): void {
    this.route = parse(location.hash)
    this.problem = undefined
    window.scrollTo(0, 0)
    void this.updateComplete.then(() => this.querySelector<HTMLElement>('main')?.focus({ preventScroll: true }))
  }

  protected override render() {
    const home = this.route.path.length === 0
    return html`
      <header class="top">
        <nav aria-label=${t('Page')}>
          ${home ? html`<span class="wordmark">Arris</span>` : this.isStep ? html`<a class="plain wordmark" href=${link([])}>Arris</a>` : html`<button type="button" class="plain" @click=${() => history.back()}>${backIcon()}<span>${t('Back')}</span></button><a class="plain wordmark" href=${link([])}>Arris</a>`}
        </nav>
        <div class="choices">
          <div class="switch" role="group" aria-label=${t('Unit')}>
            ${[false, true].map((inch) => html`
              <button type="button" aria-pressed=${prefs.inch === inch} @click=${() => prefs.set({ inch })}>${inch ? t('inch') : 'mm'}</button>`)}
          </div>
          <a class="plain" href=${link(['options'])} aria-label=${t('Options')}>${optionsIcon()}</a>
        </div>
      </header>
      <div class="banner-place" role="status">${this.banner()}</div>
      <main tabindex="-1">${this.screen()}</main>`
  }

  /** isStep: such a page has its own way back. */
  private get isStep(): boolean {
    const [first, , page = 'wheel'] = this.route.path
    return first === 'set-up' && /^(wheel|[0-9]+)$/.test(page)
  }

  // reached: what was asked for in vain is asked for again once the server is back.
  private reached(): void {
    if (!connection.away) this.problem = undefined
    this.requestUpdate()
    tellNews()
  }

  private banner(): TemplateResult | typeof nothing {
    const waits = outbox.entries.length, refused = outbox.entries.filter((e) => e.refused).length
    const { away } = connection
    const problem = away && this.problem?.passing ? undefined : this.problem // that nothing answers is said once
    if (!problem && !away && waits === 0) return nothing
    const words = problem ? sentence(problem.message) : away ? t('No connection. What is shown was fetched before.') : ''
    const again = this.retryCall
    return html`
      <div class=${problem ? 'banner' : 'banner quiet'}>
        ${words ? html`${warnIcon()}<p>${words}</p>` : nothing}
        ${waits > 0 ? html`<a class="link" href=${link(['waiting'])}>${refused > 0 ? t('Entries that need a look: {n}', { n: refused }) : t('Entries to be sent: {n}', { n: waits })}</a>` : nothing}
        ${problem && again ? html`<button type="button" @click=${() => this.retry(again)}>${t('Try again')}</button>` : nothing}
        ${problem ? html`<button type="button" @click=${() => (this.problem = undefined)}>${t('Hide')}</button>` : nothing}
      </div>`
  }

  private retry(again: () => void): void {
    this.problem = undefined
    again()
  }

  // later shows one of the screens that few jobs need, which are loaded when the first is asked for.
  private later(screen: TemplateResult): TemplateResult {
    const { value, problem, busy } = this.care
    if (!value && !busy && !problem) void this.care.run(() => piece(import('./care')))
    return value ? screen : problem ? refusal(problem) : waiting()
  }

  private screen(): TemplateResult {
    const [first, id = ''] = this.route.path
    switch (first) {
      case 'tool':
      case 'recipe':
        return html`<k-where .route=${this.route}></k-where>`
      case 'set-up':
        return html`<k-set-up .route=${this.route}></k-set-up>`
      case 'station':
        return html`<k-station .station=${id}></k-station>`
      case 'wheel':
        return html`<k-wheel .wheel=${id}></k-wheel>`
      case 'waiting':
        return html`<k-waiting></k-waiting>`
      case 'code':
        return html`<k-code .route=${this.route}></k-code>`
      case 'sheet':
        return this.later(html`<k-sheet .route=${this.route}></k-sheet>`)
      case 'care':
        return this.later(html`<k-care></k-care>`)
      case 'log':
        return this.later(html`<k-entries></k-entries>`)
      case 'wear':
        return this.later(html`<k-wear .wheel=${id}></k-wear>`)
      case 'inspect':
        return this.later(this.route.path[2] ? html`<k-inspect .route=${this.route}></k-inspect>` : html`<k-care></k-care>`)
      case 'options':
        return this.later(html`<k-options></k-options>`)
      default:
        return html`<k-find></k-find>`
    }
  }
}
