// What wants looking after, as one reads it in the morning: what was found not fit for use, which inspections are due, what is locked, which
// wheels are to be measured or come to their end, and what was looked at longest ago.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, state } from 'lit/decorators.js'
import * as care from '../api/care'
import { Problem, problemOf } from '../api/http'
import { called, id, list, num, strings, text } from '../api/read'
import * as shop from '../api/shop'
import type { Wear, Wheel } from '../api/types'
import { day, note, timeOf } from '../care/said'
import { dueFirst, notToBeUsed, theRest, type Looks } from '../care/to-inspect'
import { isUnsafe } from '../due'
import { ago } from '../format'
import { lockIcon, readyIcon, warnIcon } from '../parts/icons'
import { refusal, sentence } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { link } from '../route'
import { believed, isLocked, mounted } from '../tiles'
import { t } from '../words'

interface Row {
  urgent: boolean
  rank: number
  row: TemplateResult
}

const soon = 14 * 86_400_000 // ms: worth saying beforehand
const near = 90 * 86_400_000 // ms: time to order a wheel

@customElement('k-care')
export class Care extends Screen {
  private readonly all = new Load<Looks>(this)
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
      const [stations, wheels, holders, inspections] = await Promise.all([shop.stations(), shop.wheels(), shop.holders(), care.inspections().catch(unlessAway)])
      return { stations, wheels, holders, inspections }
    }
    void this.all.run(job, ({ wheels }) => void this.look(round(wheels).filter((w) => text(w.station))))
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
    return round(this.all.value?.wheels ?? []).some((w) => text(w.station) && !this.wear.has(text(w.name)))
  }

  protected override render() {
    const { value, problem } = this.all
    if (!value) return problem ? refusal(problem) : waiting()
    return html`
      <h1>${t('Care')}</h1>
      <div class="care-grid">
        <div>${notToBeUsed(value)}${dueFirst(value)}${this.locked(value)}${this.toMeasure(round(value.wheels))}${this.ends(round(value.wheels))}</div>
        <div>
          ${theRest(value)}
          <section class="panel"><h2>${t('What was ground lately')}</h2><a class="button" href=${link(['log'])}>${t('The log')}</a></section>
        </div>
      </div>`
  }

  private locked({ stations, wheels }: Looks): TemplateResult {
    const locked = stations.filter(isLocked).sort((a, b) => (timeOf(a.stateTime) ?? 0) - (timeOf(b.stateTime) ?? 0))
    const unfit = stations.some((s) => isUnsafe(s) || isUnsafe(mounted(wheels, s)))
    return html`
      <section class="panel"><h2>${t('Locked stations')}</h2>
        ${locked.length === 0
          ? unfit ? html`<p>${t('No station is locked.')}</p>` : html`<p class="state ready">${readyIcon()} <span>${t('All stations are in service.')}</span></p>`
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
}

const round = (wheels: Wheel[]) => wheels.filter((w) => !w.flat)

// unlessAway goes without what cannot be had while there is no connection.
function unlessAway(thrown: unknown): undefined {
  if (!(thrown instanceof Problem) || !thrown.passing) throw thrown
  return undefined
}

const short = (p: Problem) => (p.reason === 'TOO_FEW_MEASUREMENTS' ? t('Nothing is foreseen yet: it takes measurements after some use.') : p.message)
