// Is it so? Ink on the bevel tells which way to correct, and by one move; a protractor tells the angle.
import { html, nothing, svg, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { list, num, text } from '../../api/read'
import * as shop from '../../api/shop'
import type { InkMark, InkTrial, Match, Setup, Step } from '../../api/types'
import { madeBy, supportReading, lastOf } from '../../cards'
import { degrees } from '../../format'
import { angleOf, jobLink, recipeOf, requestOf } from '../../job'
import { cautions, isGrave } from '../../parts/cautions'
import type { Entered } from '../../parts/keypad'
import { refusal, sentence } from '../../parts/refusal'
import { Load, Screen } from '../../parts/screen'
import { quantity } from '../../quantities'
import { t } from '../../words'
import '../../parts/keypad'
import { about } from './head'
import type { Work } from './work'

interface Corrected {
  match: Match
  /** Whether it is this grind, as well as it can be measured. */
  agrees: boolean
  /** The set-up that makes up for the difference, when there is one to make up for. */
  setup: Setup | undefined
}

@customElement('k-prove')
export class Prove extends Screen {
  @property({ attribute: false }) work!: Work
  @state() private way: 'ink' | 'protractor' = 'ink'
  @state() private trials: InkTrial[] = []
  private readonly inked = new Load<Match>(this)
  private readonly read = new Load<Corrected>(this)

  private get step(): Step | undefined {
    return lastOf(this.work.setup)
  }

  private get rig() {
    const { basis } = this.work.setup ?? {}
    const rig: Record<string, unknown> = { ...(this.work.request.rig as object) }
    if (text(basis?.holder)) rig['holder'] = basis?.holder
    if (text(basis?.support)) rig['support'] = basis?.support
    return rig
  }

  protected override reworded(): void {
    if (this.trials.length > 0) void this.askInk()
    this.requestUpdate()
  }

  private async mark(where: InkMark): Promise<void> {
    const settings = this.trials.length > 0 && this.inked.value?.next ? madeBy(this.inked.value.next) : madeBy(this.step)
    this.trials = [...this.trials, { settings, where }]
    await this.askInk()
    if (this.inked.problem && !this.inked.problem.passing) this.trials = this.trials.slice(0, -1)
  }

  private askInk() {
    const trials = this.trials
    return this.inked.run(() => shop.ink(this.rig, trials))
  }

  private protractor(readingDeg: number) {
    const { work } = this
    return this.read.run(async () => {
      const steel = work.tool ? undefined : num(work.recipe?.steelMm)
      const rig = { station: work.request.rig?.station, ...(work.tool ? { tool: work.tool.name } : {}) }
      const match = await shop.measured(rig, steel === undefined ? { readingDeg } : { readingDeg, steelDepthMm: steel })
      const short = await this.short(match)
      return { match, agrees: short?.agrees === true, setup: short && !short.agrees ? await this.correction(short.deg) : undefined }
    })
  }

  // short is how far the measured edge falls short of what was set up: of the recipe as the API says it, of another edge by what was promised.
  private async short(match: Match): Promise<{ deg: number; agrees: boolean } | undefined> {
    const name = text((await recipeOf(this.work.job))?.name)
    const own = this.work.job.edge === undefined ? list(match.recipes).find((r) => r.recipe === name) : undefined
    const wanted = num(this.step?.predicted?.edgeAngleDeg), is = num(match.edgeAngleDeg), doubt = num(match.expandedUncertaintyDeg) ?? 0
    const deg = own ? num(own.differenceDeg) : wanted === undefined || is === undefined ? undefined : wanted - is
    return deg === undefined ? undefined : { deg, agrees: own ? own.withinUncertainty === true : Math.abs(deg) <= doubt }
  }

  // correction asks for an edge as much further as the measured one falls short, from where the machine stands.
  private async correction(short: number): Promise<Setup | undefined> {
    const told = angleOf(this.work.recipe?.grind?.bevels?.[0])
    if (!told) return undefined
    const edge = (this.work.job.edge ?? told.deg) + (told.by.startsWith('included') ? 2 : 1) * short
    return await shop.solve({ ...(await requestOf({ ...this.work.job, edge })), now: madeBy(this.step), include: [] })
  }

  protected override render() {
    const ways: ['ink' | 'protractor', string][] = [['ink', t('Ink test')], ['protractor', t('Protractor')]]
    return html`
      ${about(this.work)}
      <div class="see-head">
        <h1>${t('Prove it')}</h1>
        <div class="switch wide" role="group" aria-label=${t('How?')}>
          ${ways.map(([way, words]) => html`<button type="button" aria-pressed=${this.way === way} @click=${() => (this.way = way)}>${words}</button>`)}
        </div>
      </div>
      ${this.way === 'ink' ? this.ink() : this.byProtractor()}`
  }

  private ink(): TemplateResult {
    const { value, problem } = this.inked
    const marks: [InkMark, string, string][] = [
      ['INK_MARK_EDGE', t('At the edge'), 'M70 18L84 4'], ['INK_MARK_MIDDLE', t('In the middle'), 'M57 31L43 45'], ['INK_MARK_HEEL', t('At the heel'), 'M30 58L16 72'],
    ]
    return html`
      <p class="lead">${t('Switch off. Ink the whole bevel, lay the tool on and turn the wheel by hand. Where did the ink go?')}</p>
      <div class="marks">${marks.map(([mark, words, where]) => html`
        <button type="button" class="mark" ?disabled=${this.inked.busy} @click=${() => void this.mark(mark)}>${bevelPicture(where)}<span>${words}</span></button>`)}</div>
      ${problem && !problem.passing ? refusal(problem) : nothing}
      ${value && this.trials.length > 0 ? this.inkAnswer(value) : nothing}`
  }

  private inkAnswer(match: Match): TemplateResult {
    const support = supportReading(match.next), move = text(match.next?.support?.move?.text)
    return html`
      <section class="result" aria-live="polite">
        ${match.agrees ? html`<p class="move">${t('It agrees: grind.')}</p>` : move ? html`<p class="move">${move}</p>` : nothing}
        <p class="more">${sentence(text(match.text))}</p>
        ${support && !match.agrees ? html`<p class="more">${t('{quantity} is then {text}', { quantity: quantity(support.quantity), text: text(support.setting.text) })}</p>` : nothing}
        <p class="more">${t('Tries so far: {n}', { n: this.trials.length })} <button type="button" class="link" @click=${() => { this.trials = []; this.inked.value = undefined }}>${t('Begin anew')}</button></p>
        ${cautions(match.cautions, isGrave)}
        ${match.agrees ? html`<a class="button primary" href=${jobLink(this.work.job, 'log')}>${t('Log it')}</a>` : nothing}
      </section>`
  }

  private byProtractor(): TemplateResult {
    const { value, problem } = this.read
    return html`
      <p class="lead">${t('Grind, then lay a protractor on the bevel. It should show {angle}.', { angle: degrees(this.step?.predicted?.bevelReadingDeg) })}</p>
      <k-keypad .start=${num(this.step?.predicted?.bevelReadingDeg)} .unit=${'°'} .label=${t('Bevel reading')} .nudges=${[-1, -0.5, 0.5, 1]} .action=${t('It shows that')}
        .busy=${this.read.busy} @entered=${(e: Entered) => void this.protractor(e.value)}></k-keypad>
      <div aria-live="polite">
        ${problem && !problem.passing ? refusal(problem) : nothing}
        ${value ? this.readAnswer(value) : nothing}
      </div>`
  }

  private readAnswer({ match, agrees, setup }: Corrected): TemplateResult {
    const step = lastOf(setup), support = supportReading(step), move = text(step?.support?.move?.text)
    return html`
      <section class="result">
        <p class="number-line">${t('Edge angle {angle} ± {doubt}', { angle: degrees(match.edgeAngleDeg), doubt: degrees(match.expandedUncertaintyDeg) })}</p>
        ${setup && move
          ? html`<p class="move">${move}</p><p class="more">${support ? t('{quantity} is then {text}', { quantity: quantity(support.quantity), text: text(support.setting.text) }) : nothing}</p>`
          : agrees ? html`<p>${t('That is this grind, as well as it can be measured: leave it as it is.')}</p>` : nothing}
        <p class="more">${sentence(text(match.text))}</p>
        ${cautions(match.cautions, isGrave)}
        <a class="button" href=${jobLink(this.work.job, 'log', { reading: String(match.bevelReadingDeg ?? '') })}>${t('Log it')}</a>
      </section>`
  }
}

// A bevel from edge (above right) to heel, and where the ink went.
const bevelPicture = (where: string) => html`
  <svg class="bevel" viewBox="0 0 100 84" aria-hidden="true" focusable="false">
    ${svg`<path class="steel" d="M84 4L16 72H2V60L40 4z" /><path class="inked" d="M84 4L16 72" /><path class="rubbed" d=${where} />`}
  </svg>`
