// What every screen has: the page's own style sheet instead of a shadow, a second look when unit or language change, and something that is
// being fetched.
import { html, LitElement, render, type ReactiveController, type ReactiveControllerHost, type TemplateResult } from 'lit'
import { counted, problemOf, type Problem } from '../api/http'
import { news } from '../offline/answers'
import { prefs } from '../prefs'
import { speak, t } from '../words'

export abstract class Screen extends LitElement {
  private readonly again = () => this.reworded()
  private broken = false

  protected override createRenderRoot(): HTMLElement {
    return this
  }

  override connectedCallback(): void {
    super.connectedCallback()
    prefs.addEventListener('change', this.again)
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    prefs.removeEventListener('change', this.again)
  }

  protected override async scheduleUpdate(): Promise<void> {
    await speak()
    await super.scheduleUpdate()
  }

  /** A screen that cannot be drawn says so, and begins anew with the next answer. */
  protected override performUpdate(): void {
    if (this.broken) this.empty()
    try {
      super.performUpdate()
    } catch (thrown) {
      this.empty()
      render(html`<p class="empty" role="alert">${problemOf(thrown).message}</p>`, this)
      this.broken = true
    }
  }

  // empty takes away what is drawn, and what the library remembers of it.
  private empty(): void {
    this.replaceChildren()
    Reflect.deleteProperty(this, '_$litPart$')
    this.broken = false
  }

  /** reworded is called when unit or language were changed. */
  protected reworded(): void {
    this.requestUpdate()
  }
}

/** Something fetched: its last value stays while the next is on its way. */
export class Load<T> implements ReactiveController {
  value: T | undefined
  problem: Problem | undefined
  busy = false
  private turn = 0
  private followed: (() => void) | undefined
  private readonly again = () => this.followed?.()

  constructor(private readonly host: ReactiveControllerHost & HTMLElement) {
    host.addController(this)
  }

  hostConnected(): void {
    news.addEventListener('news', this.again)
  }

  hostDisconnected(): void {
    news.removeEventListener('news', this.again)
  }

  /** follow fetches, and again whenever something newer came than what was shown. */
  follow(job: () => Promise<T>): Promise<T | undefined> {
    this.followed = () => void this.run(job)
    return this.run(job)
  }

  /** run fetches; what comes after is done once it worked, also when that took a second try. */
  async run(job: () => Promise<T>, after?: (value: T) => void): Promise<T | undefined> {
    const turn = ++this.turn
    this.busy = true
    this.host.requestUpdate()
    let value: T
    try {
      value = await counted(job)
    } catch (thrown) {
      if (turn !== this.turn) return undefined // somebody asked anew since
      this.settle(undefined, problemOf(thrown))
      if (this.problem) announce(this.problem, () => void this.run(job, after))
      return undefined
    }
    if (turn !== this.turn) return undefined
    this.settle(value, undefined)
    after?.(value)
    return value
  }

  /** clear forgets what was of something else. */
  clear(): void {
    this.turn++
    this.value = this.problem = this.followed = undefined
    this.busy = false
  }

  private settle(value: T | undefined, problem: Problem | undefined): void {
    if (value !== undefined) this.value = value
    this.problem = problem
    this.busy = false
    this.host.requestUpdate()
  }
}

/** Told to the banner, which never blocks. */
export class Announcement extends Event {
  constructor(readonly problem: Problem, readonly again: (() => void) | undefined) {
    super('arris-announce')
  }
}

/** announce tells what is wrong in the banner, when asking again may help; a refusal belongs where the question was. */
export function announce(problem: Problem, again?: () => void): void {
  if (problem.passing) window.dispatchEvent(new Announcement(problem, again))
}

export const waiting = (): TemplateResult => html`<p class="waiting" role="status">${t('One moment…')}</p>`
