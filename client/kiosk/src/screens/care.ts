// What wants looking after, as one reads it in the morning: what is locked, which wheels are to be measured or come to their end, and what was
// looked at longest ago.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, state } from 'lit/decorators.js'
import * as care from '../api/care'
import { problemOf, type Problem } from '../api/http'
import { called, id, list, num, strings, text } from '../api/read'
import * as shop from '../api/shop'
import type { Inspection, Station, Wear, Wheel } from '../api/types'
import { finding, inspected, inspectLink } from '../care/inspections'
import { day, note, timeOf } from '../care/said'
import { ago } from '../format'
import { lockIcon, readyIcon, warnIcon } from '../parts/icons'
import { refusal, sentence } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { link } from '../route'
import { believed, isLocked } from '../tiles'
import { t } from '../words'

interface Shop {
  stations: Station[]
  wheels: Wheel[]
  inspections: Inspection[]
}

interface Row {
  urgent: boolean
  rank: number
  row: TemplateResult
}

const soon = 14 * 86_400_000 // ms: worth saying beforehand
const near = 90 * 86_400_000 // ms: time to order a wheel

@customElement('k-care')
export class Care extends Screen {
  private readonly all = new Load<Shop>(this)
  /** What the API foresees of each wheel, as it comes. */
  @state() private wear = new Map<string, Wear | Problem>()

  override connectedCallback(): void {
    super.connectedCallback()
    this.load()
  }

  protected override reworded(): void {
    this.load()
  }

  private load(): void {
    shop.forget() // what is read in the morning is what is so now
    const job = async () => {
      const [stations, wheels, inspections] = await Promise.all([shop.stations(), shop.wheels(), care.inspections()])
      return { stations, wheels: wheels.filter((w) => !w.flat), inspections }
    }
    void this.all.run(job, (all) => void this.look(all.wheels.filter((w) => text(w.station))))
  }

  // look asks of one wheel after the other: each is some work for the server.
  private async look(wheels: Wheel[]): Promise<void> {
    for (const wheel of wheels) {
      const name = text(wheel.name), wear = await care.wear(name).catch(problemOf)
      if (!this.isConnected) return
      this.wear = new Map(this.wear).set(name, wear)
    }
  }

  private get looking(): boolean {
    return (this.all.value?.wheels ?? []).some((w) => text(w.station) && !this.wear.has(text(w.name)))
  }

  protected override render() {
    const { value, problem } = this.all
    if (!value) return problem ? refusal(problem) : waiting()
    return html`
      <h1>${t('Care')}</h1>
      <div class="care-grid">
        <div>${this.locked(value.stations)}${this.toMeasure(value.wheels)}${this.ends(value.wheels)}</div>
        <div>
          ${this.toInspect(value)}
          <section class="panel"><h2>${t('What was ground lately')}</h2><a class="button" href=${link(['log'])}>${t('The log')}</a></section>
        </div>
      </div>`
  }

  private locked(stations: Station[]): TemplateResult {
    const locked = stations.filter(isLocked).sort((a, b) => (timeOf(a.stateTime) ?? 0) - (timeOf(b.stateTime) ?? 0))
    return html`
      <section class="panel"><h2>${t('Locked stations')}</h2>
        ${locked.length === 0
          ? html`<p class="state ready">${readyIcon()} <span>${t('All stations are in service.')}</span></p>`
          : html`<ul class="care-list">${locked.map((s) => html`
              <li><div><a class="name" href=${link(['station', id(s.name)])}>${called(s)}</a>
                <span class="state locked">${lockIcon()} <span>${text(s.stateReason) ? note(s.stateReason) : t('Locked')}</span></span>
                <span class="more">${t('locked {ago}, on {day}', { ago: ago(s.stateTime), day: day(timeOf(s.stateTime)) })}</span></div></li>`)}</ul>`}
      </section>`
  }

  private toMeasure(wheels: Wheel[]): TemplateResult {
    const rows = wheels.filter((w) => text(w.station)).map((w) => this.measuring(w)).sort((a, b) => a.rank - b.rank)
    const due = rows.filter((r) => r.urgent)
    return html`
      <section class="panel"><h2>${t('Wheels to measure')}</h2>
        ${due.length === 0 && !this.looking ? html`<p class="state ready">${readyIcon()} <span>${t('No wheel has to be measured now.')}</span></p>` : nothing}
        <ul class="care-list">${[...due, ...rows.filter((r) => !r.urgent)].map((r) => r.row)}</ul>
        ${this.looking ? waiting() : nothing}
      </section>`
  }

  // measuring is what is to be said of a wheel's diameter: the API says until when it is known well enough, and by which recipe.
  private measuring(w: Wheel): Row {
    const wear = this.wear.get(text(w.name)), known = wear && !('kind' in wear) ? wear : undefined
    const recipe = list(known?.recipes, 200).map((r) => ({ r, time: timeOf(r.measureTime) })).filter((r) => r.time !== undefined).sort((a, b) => a.time! - b.time!)[0]
    const stale = text(w.dressTime) !== '' || known?.dressedUnmeasured === true || !text(w.measureTime)
    const urgent = stale || (recipe !== undefined && recipe.time! < Date.now() + soon)
    const said = stale && known ? strings(known.texts, 1)[0] : undefined
    const why = said ?? (recipe ? t('Measure before {day}: after that {recipe} may be more than its tolerance off.', { day: day(recipe.time), recipe: id(recipe.r.recipe) }) : wear instanceof Error ? short(wear) : '')
    return { urgent, rank: stale ? 0 : (recipe?.time ?? Infinity), row: this.row(w, urgent, believed(w), why, html`<a class="button" href=${link(['wheel', id(w.name)])} aria-label=${`${t('Measure it')}: ${called(w)}`}>${t('Measure it')}</a>`) }
  }

  private row(w: Wheel, urgent: boolean, state: string, more: string, action: TemplateResult | typeof nothing): TemplateResult {
    return html`
      <li><div><a class="name" href=${link(['wear', id(w.name)])}>${called(w)}</a>
        <span class=${urgent ? 'state locked' : 'state'}>${urgent ? warnIcon() : nothing} <span>${state}</span></span>
        ${more ? html`<span class="more">${sentence(text(more, 400))}</span>` : nothing}</div>${action}</li>`
  }

  private ends(wheels: Wheel[]): TemplateResult {
    const rows = wheels.map((w) => this.ending(w)).filter((r) => r !== undefined).sort((a, b) => a.rank - b.rank)
    return html`
      <section class="panel"><h2>${t('Wheels near their smallest diameter')}</h2>
        ${rows.length > 0 ? html`<ul class="care-list">${rows.map((r) => r.row)}</ul>` : this.looking ? waiting() : html`<p>${t('None is foreseen to come so far within three months.')}</p>`}
      </section>`
  }

  private ending(w: Wheel): Row | undefined {
    const wear = this.wear.get(text(w.name)), known = wear && !('kind' in wear) ? wear : undefined
    const mm = num(w.diameterMm), least = num(w.smallestDiameterMm), is = mm !== undefined && least !== undefined && mm <= least
    const earliest = timeOf(known?.earliestSmallestTime), expected = timeOf(known?.smallestTime), first = earliest ?? expected
    if (!is && (first === undefined || first > Date.now() + near)) return undefined
    const words = is ? t('It has come to its smallest diameter: take it off.')
      : expected === undefined ? t('At the earliest on {day}.', { day: day(first) }) : t('About {day}, at the earliest {earliest}.', { day: day(expected), earliest: day(first) })
    return { urgent: true, rank: is ? 0 : (first ?? 0), row: this.row(w, true, words, believed(w), nothing) }
  }

  private toInspect({ stations, wheels, inspections }: Shop): TemplateResult {
    const newest = (of: Station | Wheel) => inspections.find((i) => i.subject === of.name)
    const all = [...stations, ...wheels].map((it) => ({ it, last: newest(it) })).sort((a, b) => (timeOf(a.last?.occurTime) ?? 0) - (timeOf(b.last?.occurTime) ?? 0))
    return html`
      <section class="panel"><h2>${t('Inspections, the oldest first')}</h2>
        <ul class="care-list">${all.slice(0, 40).map(({ it, last }) => html`
          <li><div><span class="name">${called(it)}</span> ${last ? finding(last) : nothing}<span class="more">${inspected(last)}</span></div>
            <a class="button" href=${inspectLink(it.name)} aria-label=${`${t('Inspect it')}: ${called(it)}`}>${t('Inspect it')}</a></li>`)}</ul>
      </section>`
  }
}

const short = (p: Problem) => (p.reason === 'TOO_FEW_MEASUREMENTS' ? t('Nothing is foreseen yet: it takes measurements after some use.') : p.message)
