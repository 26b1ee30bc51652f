// See: the finished edge as a solid that a finger turns, the wedge angle on it, and the swing that grinds it.
import { html, nothing, svg, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { keyed } from 'lit/directives/keyed.js'
import { num, text } from '../../api/read'
import * as shop from '../../api/shop'
import type { Edge } from '../../api/types'
import { jobLink } from '../../job'
import { cautions, isGrave } from '../../parts/cautions'
import { nextIcon } from '../../parts/icons'
import { refusal, sentence } from '../../parts/refusal'
import { Load, Screen, waiting } from '../../parts/screen'
import { meshOf, named, placeAt, placesOf, scaleOf, type Place } from '../../see/edge'
import { legend } from '../../see/legend'
import { placeName, shortName, standing, wedgeOf } from '../../see/names'
import { plain } from '../../see/plain'
import type { Stage, Turn, View } from '../../see/stage'
import { Swing } from '../../see/swing'
import { spotsFor, type Spot } from '../../see/tags'
import { t } from '../../words'
import { about } from './head'
import type { Work } from './work'

type Mode = 'edge' | 'swing'

const usualWidth = 25 // mm of a wheel whose width nobody told
const widest = 2000 // mm of a wheel that is drawn
const turnKeys: Record<string, Turn> = { ArrowLeft: 'left', ArrowRight: 'right', ArrowUp: 'up', ArrowDown: 'down', '+': 'nearer', '=': 'nearer', '-': 'farther' }
const matches = (query: string) => window.matchMedia(query).matches

@customElement('k-see')
export class See extends Screen {
  @property({ attribute: false }) work!: Work
  @state() private mode: Mode = 'edge'
  /** Why there is no picture. */
  @state() private without = ''
  @state() private canvas = 0 // a new one every time: one that was given back cannot be used again
  private readonly answer = new Load<Awaited<ReturnType<typeof shop.edge>>>(this)
  private readonly dark = window.matchMedia('(prefers-color-scheme: dark)')
  private readonly redress = () => this.anew()
  private places: Place[] = []
  private drawnFile = ''
  private opening = 0
  private stage: Stage | undefined
  private swing: Swing | undefined
  private spots: (Spot | undefined)[] = []

  override connectedCallback(): void {
    super.connectedCallback()
    this.dark.addEventListener('change', this.redress)
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    this.dark.removeEventListener('change', this.redress)
    this.shut()
  }

  private get edge(): Edge | undefined {
    return this.answer.value?.edge
  }

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('work')) void this.answer.run(() => shop.edge(this.work.request))
  }

  protected override updated(): void {
    const { edge } = this, file = text(edge?.mesh?.gltf, Infinity)
    if (!edge || this.without || (this.drawnFile === file && file !== '')) return this.stage?.redraw()
    this.shut()
    this.drawnFile = file
    this.places = placesOf(edge)
    void this.open(edge)
  }

  /** anew draws everything once more, on a new canvas. */
  private anew(): void {
    this.shut()
    this.without = ''
    this.canvas++
  }

  private shut(): void {
    this.opening++
    this.swing?.pause()
    this.stage?.close()
    this.stage = this.swing = undefined
    this.drawnFile = ''
    this.spots = []
  }

  // open fetches what draws and begins. Whatever goes wrong with it leaves the plain views.
  private async open(edge: Edge): Promise<void> {
    const turn = this.opening, canvas = this.querySelector('canvas'), file = meshOf(edge)
    const why = this.answer.value?.without
    if (why) return this.give(sentence(text(why)))
    if (!file) return this.give(t('The server sent no solid of this tool that can be drawn; these are its two views.'))
    if (!canvas?.getContext || !('WebGL2RenderingContext' in window)) return this.give(t('This browser draws nothing in three dimensions; these are the two views.'))
    const { Stage } = await import('../../see/stage').catch(() => ({ Stage: undefined }))
    if (turn !== this.opening) return
    if (!Stage) return this.give(t('What draws in three dimensions could not be fetched; these are the two views.'))
    try {
      const stage = await Stage.opened(canvas, { edge, file, abrasive: this.abrasive(), look: this.look(), still: matches('(prefers-reduced-motion: reduce)') })
      if (turn !== this.opening) return stage.close()
      this.stage = stage
      stage.drawn = () => this.placeTags()
      stage.lost = () => this.give(t('The picture was lost, because the device needed its memory; these are the two views.'))
      this.swing = this.swings()
      if (this.mode === 'swing') this.show('swing')
      this.requestUpdate()
    } catch (thrown) {
      console.info(thrown)
      if (turn === this.opening) this.give(t('This browser draws nothing in three dimensions; these are the two views.'))
    }
  }

  private give(why: string): void {
    this.shut()
    this.without = why
  }

  private abrasive(): { radius: number; width: number } | undefined {
    const diameter = num(this.answer.value?.basis?.wheelDiameterMm), width = num(this.work.wheel?.widthMm) ?? usualWidth
    const known = diameter !== undefined && diameter >= 0 && diameter < widest && width > 0 && width < widest
    return known ? { radius: diameter / 2, width } : undefined // a flat abrasive's diameter is 0
  }

  private look() {
    const style = getComputedStyle(this), looks = document.documentElement.dataset['look']
    return { ink: style.color, strong: matches('(prefers-contrast: more), (forced-colors: active)'), dark: looks === 'dark' || (looks !== 'light' && this.dark.matches) }
  }

  private swings(): Swing | undefined {
    const poses = this.places.filter((p) => p.pose)
    if (poses.length < 2) return undefined
    return new Swing(poses, matches('(prefers-reduced-motion: reduce)'), (from, to, part) => this.stage?.stand(from.pose!, to.pose!, part), () => this.requestUpdate())
  }

  private show(mode: Mode): void {
    this.mode = mode
    this.spots = []
    this.stage?.show(mode)
    if (mode === 'edge') return this.swing?.pause()
    this.swing?.show()
    if (!matches('(prefers-reduced-motion: reduce)')) this.swing?.play()
  }

  /** tagged are the places whose numbers are on the picture. */
  private get tagged(): Place[] {
    if (this.mode === 'swing') {
      const now = this.swing?.poses[this.swing.at]
      return now ? [now] : []
    }
    return named.map((n) => placeAt(this.places, n)).filter((p, i, all): p is Place => p !== undefined && all.indexOf(p) === i)
  }

  // placeTags moves the numbers with their points.
  private placeTags(): void {
    const picture = this.querySelector<HTMLElement>('.picture'), { stage, tagged } = this
    if (!picture || !stage) return
    const boxes = [...picture.querySelectorAll<HTMLElement>('.tag')], lines = [...picture.querySelectorAll('line')], dots = [...picture.querySelectorAll('circle')]
    if (boxes.length !== tagged.length) return
    const seen = tagged.map((p) => stage.seen(p))
    const tags = seen.map(({ x, y }, i) => ({ at: { x, y }, width: boxes[i]!.offsetWidth, height: boxes[i]!.offsetHeight }))
    const size = { width: picture.clientWidth, height: picture.clientHeight }
    this.spots = spotsFor(tags, size, stage.middle(), this.spots, this.places.filter((_, i) => i % 3 === 0).map((p) => stage.spot(p)))
    this.spots.forEach((spot, i) => {
      if (!spot) return
      const { at, width, height } = tags[i]!, hidden = seen[i]!.hidden
      boxes[i]!.style.transform = `translate(${Math.round(spot.x - width / 2)}px, ${Math.round(spot.y - height / 2)}px)`
      boxes[i]!.classList.toggle('behind', hidden)
      for (const [name, value] of [['x1', at.x], ['y1', at.y], ['x2', spot.x], ['y2', spot.y]] as const) lines[i]!.setAttribute(name, value.toFixed(1))
      lines[i]!.classList.toggle('behind', hidden)
      dots[i]!.classList.toggle('behind', hidden)
      dots[i]!.setAttribute('cx', at.x.toFixed(1))
      dots[i]!.setAttribute('cy', at.y.toFixed(1))
    })
    picture.classList.add('placed')
  }

  private onKey(e: KeyboardEvent): void {
    const turn = turnKeys[e.key]
    if (e.ctrlKey || e.metaKey || e.altKey || !this.stage) return
    if (turn) this.stage.turn(turn)
    else if (e.key === 'Home') this.stage.look('start')
    else if (this.mode === 'swing' && e.key === 'PageDown') this.swing?.step(1)
    else if (this.mode === 'swing' && e.key === 'PageUp') this.swing?.step(-1)
    else return
    e.preventDefault()
    e.stopPropagation()
  }

  protected override render(): TemplateResult {
    const { work } = this, { problem } = this.answer, { edge } = this
    return html`
      ${about(work)}
      <div class="see-head">
        <h1>${t('The finished edge')}</h1>
        ${this.swing && edge && !this.without ? html`
          <div class="switch" role="group" aria-label=${t('What is shown')}>
            <button type="button" aria-pressed=${this.mode === 'edge'} @click=${() => this.show('edge')}>${t('The tool')}</button>
            <button type="button" aria-pressed=${this.mode === 'swing'} @click=${() => this.show('swing')}>${t('Its swing on the wheel')}</button>
          </div>` : nothing}
      </div>
      ${problem && !problem.passing ? refusal(problem) : edge ? this.found(edge) : problem ? refusal(problem) : waiting()}
      <nav class="bottom" aria-label=${t('What next')}>
        <a class="button" href=${jobLink(work.job, 'whole')}>${t('Whole set-up')}</a>
        <a class="button primary" href=${jobLink(work.job, 'prove')}>${t('Prove it')} ${nextIcon()}</a>
      </nav>`
  }

  private found(edge: Edge): TemplateResult {
    return html`
      ${cautions(edge.findings, isGrave)}
      <div class=${this.without ? 'see flat' : 'see'}>
        ${this.without ? plain(edge, this.without, this.answer.value?.without ? undefined : () => this.anew()) : this.picture(edge)}
        <div class="told">
          ${this.mode === 'swing' && this.swing ? this.pose(this.swing) : this.numbers(edge)}
        </div>
      </div>
      ${cautions(edge.findings, (c) => !isGrave(c))}`
  }

  private picture(edge: Edge): TemplateResult {
    return html`
      <div class="seeing">
        <div class="picture" tabindex="0" role="group" aria-label=${t('The picture: arrow keys turn it, plus and minus go nearer and farther, Home shows it as at first')} @keydown=${(e: KeyboardEvent) => this.onKey(e)}>
          ${keyed(this.canvas, html`<canvas role="img" aria-label=${sentence(text(edge.text, 1000)) + ' ' + text(edge.summary?.text, 1000)}></canvas>`)}
          <svg class="leaders" aria-hidden="true" focusable="false">${this.tagged.map(() => svg`<line /><circle r="5" />`)}</svg>
          ${this.tagged.map((p) => html`<p class="tag" aria-hidden="true">${this.mode === 'swing' ? nothing : html`<span>${shortName(p.along)}</span> `}<strong>${wedgeOf(p)}</strong></p>`)}
        </div>
        <div class="eyes">
          <div class="switchless" role="group" aria-label=${t('Where from')}>
            ${this.eye('above', t('From above'))}${this.eye('nose', this.mode === 'swing' ? t('From the front') : t('From the nose'))}${this.eye('side', t('From the side'))}
          </div>
          <div class="turns" role="group" aria-label=${t('Turn')}>
            ${this.turner('left', t('Turn left'), '←')}${this.turner('right', t('Turn right'), '→')}${this.turner('up', t('Turn up'), '↑')}${this.turner('down', t('Turn down'), '↓')}
            ${this.turner('farther', t('Farther'), '−')}${this.turner('nearer', t('Nearer'), '+')}
          </div>
        </div>
      </div>`
  }

  private eye(from: View, words: string): TemplateResult {
    return html`<button type="button" class="small" @click=${() => this.stage?.look(from)}>${words}</button>`
  }

  private turner(which: Turn, words: string, sign: string): TemplateResult {
    return html`<button type="button" class="turner" aria-label=${words} title=${words} @click=${() => this.stage?.turn(which)}>${sign}</button>`
  }

  private numbers(edge: Edge): TemplateResult {
    const scale = scaleOf(edge), places = this.places.length > 0 ? this.places : placesOf(edge)
    return html`
      <h2>${t('Wedge angle: between ground face and flute, square to the edge')}</h2>
      ${scale ? legend(scale) : nothing}
      <dl class="numbers wedges">${named.map((n) => html`<div class="row"><dt>${placeName(n)}</dt><dd>${wedgeOf(placeAt(places, n))}</dd></div>`)}</dl>
      <p class="more">${t('Left and right as you look at the nose with the flute up; the right wing is on the +side.')}</p>`
  }

  private pose(swing: Swing): TemplateResult {
    const now = swing.poses[swing.at]
    return html`
      <div class="player" role="group" aria-label=${t('Swing')}>
        <button type="button" ?disabled=${swing.at === 0} aria-label=${t('One pose back')} @click=${() => swing.step(-1)}>${stepIcon(-1)}</button>
        <button type="button" class="primary" @click=${() => (swing.playing ? swing.pause() : swing.play())}>${swing.playing ? html`${pauseIcon()} ${t('Pause')}` : html`${playIcon()} ${t('Play')}`}</button>
        <button type="button" ?disabled=${swing.at === swing.poses.length - 1} aria-label=${t('One pose on')} @click=${() => swing.step(1)}>${stepIcon(1)}</button>
      </div>
      <div class="pose" aria-live=${swing.playing ? 'off' : 'polite'}>
        <h2>${t('Pose {n} of {all}', { n: swing.at + 1, all: swing.poses.length })}</h2>
        <p class="where">${now ? placeName(now.along) : ''}</p>
        <dl class="numbers wedges">
          <div class="row"><dt>${t('Wedge angle')}</dt><dd>${wedgeOf(now)}</dd></div>
          ${standing(now).map((row) => html`<div class="row"><dt>${row.name}</dt><dd>${row.value}</dd></div>`)}
        </dl>
        <p class="more">${t('Turns are counted from how the tool lies when its nose is ground.')}</p>
      </div>`
  }
}

const icon = (content: TemplateResult<2>) => html`<svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">${content}</svg>`
const playIcon = () => icon(svg`<path d="M8 5.5v13l10.5-6.5z" />`)
const pauseIcon = () => icon(svg`<path d="M8.5 5.5v13M15.5 5.5v13" />`)
const stepIcon = (by: number) => icon(by > 0 ? svg`<path d="M7 6v12l8-6zM18 6v12" />` : svg`<path d="M17 6v12l-8-6zM6 6v12" />`)
