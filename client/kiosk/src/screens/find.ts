// Where one begins: scan or search, what was used lately, and how the stations are.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, state } from 'lit/decorators.js'
import { piece, problemOf } from '../api/http'
import * as shop from '../api/shop'
import { called, id, text } from '../api/read'
import type { Recipe, Station, Tool, Wheel } from '../api/types'
import { meant, placeOf } from '../codes'
import { overdue } from '../due'
import { recent } from '../memory'
import { sharpened } from '../offline/overlay'
import { canScan } from '../parts/device'
import { cameraIcon, eraseIcon, searchIcon } from '../parts/icons'
import { refusal, sentence } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { go, link } from '../route'
import type { Scanner } from '../parts/scanner'
import { believed, mounted, recipeTile, stateOf, toolTile } from '../tiles'
import { t } from '../words'

interface Shop {
  tools: Tool[]
  recipes: Recipe[]
  stations: Station[]
  wheels: Wheel[]
  lately: string[]
}

const settle = 180 // ms without a key before it is searched
const mostRecent = 6

@customElement('k-find')
export class Find extends Screen {
  @state() private words = ''
  @state() private unknown = ''
  @state() private why = ''
  @state() private scanning = false
  private readonly all = new Load<Shop>(this)
  private readonly found = new Load<{ words: string; tools: Tool[]; recipes: Recipe[] }>(this)
  private readonly scanner = new Load<unknown>(this)
  private timer = 0

  override connectedCallback(): void {
    super.connectedCallback()
    void this.all.follow(async () => {
      const [tools, recipes, stations, wheels, log] = await Promise.all([shop.tools(), shop.recipes(), shop.stations(), shop.wheels(), shop.lately().catch(() => [])])
      return { tools, recipes, stations, wheels, lately: [...sharpened(), ...log].map((s) => text(s.tool)).filter(Boolean) }
    })
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    window.clearTimeout(this.timer)
  }

  private scan(): void {
    void this.scanner.run(() => piece(import('../parts/scanner')), () => (this.scanning = true))
  }

  private read({ code }: Scanner): void {
    this.scanning = false
    if (code) void this.scanned(code)
  }

  private typed(words: string): void {
    this.words = words
    this.unknown = this.why = ''
    window.clearTimeout(this.timer)
    if (words.trim() !== '') this.timer = window.setTimeout(() => void this.search(words.trim()), settle)
  }

  private clear(): void {
    this.typed('')
    this.querySelector('input')?.focus()
  }

  private search(words: string) {
    return this.found.run(async () => {
      const [tools, recipes] = await Promise.all([shop.alike<Tool>('tools', words), shop.alike<Recipe>('recipes', words)])
      return { words, tools, recipes }
    })
  }

  /** scanned goes to what a code means; words that are no code are searched for, and an only answer is gone to. */
  private async scanned(code: string): Promise<void> {
    window.clearTimeout(this.timer)
    this.unknown = this.why = ''
    const where = this.all.value && meant(code, this.all.value)
    if (where) return go(where)
    this.words = code
    const place = await this.resolved(code.trim())
    if (place) return go(place)
    const found = await this.search(code.trim())
    if (found && found.tools.length + found.recipes.length === 0) this.unknown = code
    else if (found?.tools.length === 1 && found.recipes.length === 0) go(link(['tool', id(found.tools[0]?.name)]))
  }

  /** resolved is where the API says that a code leads. What is no code is words; why one word is none is said beside what it is like. */
  private async resolved(code: string): Promise<string | undefined> {
    try {
      return placeOf(await shop.resolve(code)) ?? link(['code'], { code })
    } catch (thrown) {
      const { kind, reason, message } = problemOf(thrown)
      if (kind === 'refused' && reason !== 'NO_SUCH_METHOD' && !/\s/.test(code)) this.why = message
      return undefined
    }
  }

  protected override render() {
    return html`
      <form class="finder" role="search" @submit=${(e: Event) => { e.preventDefault(); void this.scanned(this.words) }}>
        <h1><label for="code">${t('Scan or search a tool')}</label></h1>
        <div class="field">
          ${searchIcon()}
          <input id="code" type="search" autocomplete="off" autocapitalize="off" spellcheck="false" enterkeyhint="go" maxlength="400" autofocus
            .value=${this.words} @input=${(e: Event) => this.typed((e.target as HTMLInputElement).value)} />
          <div class="field-keys">
            ${this.words ? html`<button type="button" class="plain" aria-label=${t('Clear the field')} @click=${() => this.clear()}>${eraseIcon()}</button>` : nothing}
            ${canScan()
              ? html`<button type="button" class="plain" aria-label=${t('Scan with the camera')} @click=${() => this.scan()}>${cameraIcon()}</button>`
              : nothing}
          </div>
        </div>
      </form>
      ${this.scanning ? html`<k-scanner @done=${(e: Event) => this.read(e.target as Scanner)}></k-scanner>` : nothing}
      ${this.words.trim() !== '' ? this.results() : this.start()}`
  }

  private results(): TemplateResult {
    const { value, problem } = this.found
    const why = this.why ? html`<p class="lead" role="status">${sentence(this.why)}</p>` : nothing
    if (this.unknown) return this.why ? html`${why}` : html`<p class="empty" role="status">${t('Nothing here is called “{code}”.', { code: text(this.unknown, 80) })}</p>`
    if (problem && !problem.passing) return refusal(problem)
    if (!value) return waiting()
    const stations = (this.all.value?.stations ?? []).filter((s) => called(s).toLowerCase().includes(value.words.toLowerCase()))
    if (value.tools.length + value.recipes.length + stations.length === 0) {
      return html`<p class="empty" role="status">${t('Nothing here is called “{code}”.', { code: text(value.words, 80) })}</p>`
    }
    return html`
      ${why}
      ${this.group(t('Tools'), value.tools.map(toolTile))}
      ${this.group(t('Recipes'), value.recipes.map(recipeTile))}
      ${this.group(t('Stations'), stations.map((s) => this.station(s)))}`
  }

  private start(): TemplateResult {
    const { value, problem } = this.all
    if (!value) return problem ? refusal(problem) : waiting()
    const names = [...new Set([...recent(), ...value.lately.map((n) => 'tools/' + id(n))])]
    const tiles = names.map((name) => this.recentTile(name, value)).filter((tile) => tile !== undefined).slice(0, mostRecent)
    return html`
      ${this.group(t('Lately'), tiles)}
      ${this.group(t('Stations'), value.stations.map((s) => this.station(s)))}
      <a class="button to-care" href=${link(['care'])}>${t('Care: what wants looking after')}</a>
      ${this.group(t('Tools'), value.tools.slice(0, 60).map(toolTile))}`
  }

  private recentTile(name: string, all: Shop): TemplateResult | undefined {
    const [kind, its] = name.split('/')
    const tool = kind === 'tools' ? all.tools.find((r) => id(r.name) === its) : undefined
    const recipe = kind === 'recipes' ? all.recipes.find((r) => id(r.name) === its) : undefined
    return tool ? toolTile(tool) : recipe ? recipeTile(recipe) : undefined
  }

  private group(title: string, tiles: TemplateResult[]): TemplateResult | typeof nothing {
    return tiles.length === 0 ? nothing : html`<section><h2>${title}</h2><div class="tiles">${tiles}</div></section>`
  }

  private station(s: Station): TemplateResult {
    const wheel = mounted(this.all.value?.wheels ?? [], s)
    return html`
      <a class="tile" href=${link(['station', id(s.name)])}>
        <span class="name">${called(s)}</span>
        ${stateOf(s, wheel)}${overdue(s)}
        <span class="more">${believed(wheel)}</span>
      </a>`
  }
}
