// What if: one quantity a time, a step up or down, through the positions and blocks at hand; the answer and the drawing follow.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { list, num, text } from '../../api/read'
import * as shop from '../../api/shop'
import type { Gauge, Holder, Setup } from '../../api/types'
import { cardsOf, lastOf } from '../../cards'
import { drawing } from '../../figure/draw'
import { degrees, length } from '../../format'
import { angleOf, jobLink, requestOf, taken, type Job } from '../../job'
import { cautions, isGrave } from '../../parts/cautions'
import { bigNumber } from '../../parts/number'
import { refusal } from '../../parts/refusal'
import { Load, Screen } from '../../parts/screen'
import { prefs } from '../../prefs'
import { quantity } from '../../quantities'
import { t } from '../../words'
import { about } from './head'
import { grinds } from './result'
import type { Work } from './work'

const least = 1e-6

@customElement('k-what-if')
export class WhatIf extends Screen {
  @property({ attribute: false }) work!: Work
  @state() private job: Job | undefined
  private readonly hand = new Load<{ holder: Holder | undefined; blocks: number[] }>(this)
  private readonly answer = new Load<Setup>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has('work')) return
    if (!this.job) {
      this.job = this.work.job
      this.answer.value = this.work.setup
      void this.fetchHand()
    } else {
      void this.ask()
    }
  }

  private fetchHand() {
    const name = text(this.work.setup?.basis?.holder) || text(this.work.recipe?.holder)
    return this.hand.run(async () => {
      const [holder, gauges] = await Promise.all([name ? shop.holder(name) : undefined, shop.gauges()])
      const lengths = gauges.map((g: Gauge) => num(g.lengthMm)).filter((mm) => mm !== undefined)
      return { holder, blocks: lengths.sort((a, b) => a - b) }
    })
  }

  private change(change: Partial<Job>): void {
    this.job = { ...this.work.job, ...this.job, ...change }
    void this.ask()
  }

  private ask() {
    const job = this.job ?? this.work.job
    return this.answer.run(async () => await shop.solve({ ...(await requestOf(job)), include: ['PART_FIGURE'] }))
  }

  protected override render() {
    const { work } = this, setup = this.answer.value, problem = this.answer.problem
    const job = this.job ?? work.job, last = lastOf(setup), figure = setup?.figure ?? last?.figure
    return html`
      ${about(work)}
      <h1>${t('What if…')}</h1>
      <div class="what-if">
        <div class="answer" aria-live="polite">
          ${problem && !problem.passing ? refusal(problem, (way) => this.change(taken(job, way))) : this.numbers(setup)}
        </div>
        <div class="steppers">${this.edge(job)}${this.stickOut(job, setup)}${this.leg(job, setup)}</div>
        ${problem ? nothing : drawing(figure, text(last?.figurePart))}
      </div>
      <nav class="bottom" aria-label=${t('What next')}>
        <button type="button" @click=${() => this.change({ stickOut: undefined, leg: undefined, edge: undefined })}>${t('As the recipe says')}</button>
        ${problem ? html`<span></span>` : html`<a class="button primary" href=${jobLink(job, 1)}>${t('Set it up so')}</a>`}
      </nav>`
  }

  private numbers(setup: Setup | undefined): TemplateResult | typeof nothing {
    const card = cardsOf(setup).filter((c) => c.kind === 'set').at(-1), step = lastOf(setup)
    if (!card) return nothing
    return html`<h2>${quantity(card.quantity)}</h2>${bigNumber(card.number, card.unit, quantity(card.quantity))}
      <p class="grinds">${grinds(step)}</p>${cautions(setup?.cautions, isGrave)}`
  }

  private stepper(name: string, value: string, down: (() => void) | undefined, up: (() => void) | undefined): TemplateResult {
    return html`
      <div class="stepper" role="group" aria-label=${name}>
        <button type="button" class="key" ?disabled=${!down} aria-label=${t('{what}: less', { what: name })} @click=${down}>−</button>
        <p><span class="kicker">${name}</span><output>${value}</output></p>
        <button type="button" class="key" ?disabled=${!up} aria-label=${t('{what}: more', { what: name })} @click=${up}>+</button>
      </div>`
  }

  private edge(job: Job): TemplateResult | typeof nothing {
    const told = angleOf(this.work.recipe?.grind?.bevels?.[0])
    if (!told) return nothing
    const deg = job.edge ?? told.deg
    const by = (d: number) => () => this.change({ edge: Math.round((deg + d) * 10) / 10 })
    const name = told.by.startsWith('included') ? t('Included angle') : told.by === 'readingDeg' ? t('Bevel reading') : t('Edge angle')
    return this.stepper(name, degrees(deg), by(-1), by(1))
  }

  private stickOut(job: Job, setup: Setup | undefined): TemplateResult | typeof nothing {
    const holder = this.hand.value?.holder
    const mm = job.stickOut ?? num(lastOf(setup)?.stickOut?.setMm) ?? num(this.work.recipe?.settings?.stickOutMm)
    if (mm === undefined || holder?.butted) return nothing
    const blocks = this.hand.value?.blocks ?? [], step = prefs.inch ? 25.4 / 16 : 1
    const to = (next: number | undefined) => (next === undefined ? undefined : () => this.change({ stickOut: Math.round(next * 1e4) / 1e4 }))
    const down = blocks.length > 0 ? blocks.filter((b) => b < mm - least).at(-1) : mm - step
    const up = blocks.length > 0 ? blocks.find((b) => b > mm + least) : mm + step
    const name = blocks.length > 0 ? t('Stick-out, by the blocks at hand') : t('Stick-out')
    return this.stepper(name, length(mm), to(down !== undefined && down > 0 ? down : undefined), to(up))
  }

  private leg(job: Job, setup: Setup | undefined): TemplateResult | typeof nothing {
    const places = list(this.hand.value?.holder?.swing?.legPositions, 64)
    const now = num(lastOf(setup)?.legAngle?.setDeg) ?? num(this.work.recipe?.settings?.legAngleDeg)
    if (places.length === 0 || now === undefined) return nothing
    const sorted = places.map((p) => ({ id: text(p.positionId), deg: num(p.legAngleDeg) ?? NaN })).filter((p) => Number.isFinite(p.deg)).sort((a, b) => a.deg - b.deg)
    const chosen = job.leg && !job.leg.endsWith('°') ? sorted.find((p) => p.id === job.leg) : undefined
    const deg = chosen?.deg ?? now
    const to = (p: { id: string } | undefined) => (p ? () => this.change({ leg: p.id }) : undefined)
    const here = sorted.find((p) => Math.abs(p.deg - deg) < least)
    return this.stepper(t('Leg position'), here ? `${here.id} (${degrees(deg)})` : degrees(deg), to(sorted.filter((p) => p.deg < deg - least).at(-1)), to(sorted.find((p) => p.deg > deg + least)))
  }
}
