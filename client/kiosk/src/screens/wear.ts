// A wheel's log: what was measured, how it wears, and what is to be expected of it, in the API's words, as a picture and as tables.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { called, id, list, num, strings, text } from '../api/read'
import * as shop from '../api/shop'
import type { Wear } from '../api/types'
import { clock, day, note, timeOf } from '../care/said'
import { logOf, type Entry, type Expected, type WearLog } from '../care/wear-data'
import { overdue, unsafe } from '../due'
import { length } from '../format'
import { refusal, sentence } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { link } from '../route'
import { believed } from '../tiles'
import { t } from '../words'
import '../care/inspections'
import '../care/plot'

@customElement('k-wear')
export class WearScreen extends Screen {
  @property() wheel = ''
  private readonly log = new Load<WearLog>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('wheel')) this.load()
  }

  protected override reworded(): void {
    this.load()
  }

  private load(): void {
    void this.log.run(async () => logOf(await shop.wheel(shop.named('wheels', this.wheel))))
  }

  protected override render() {
    const { value, problem } = this.log
    if (!value) return problem ? refusal(problem) : waiting()
    const { wheel, wear } = value, flat = wheel.flat !== undefined
    return html`
      <h1>${called(wheel)}</h1>
      <p class="lead">${believed(wheel)}${size(wheel.smallestDiameterMm) ? html` <span class="more">${t('never below ⌀ {least}', { least: length(wheel.smallestDiameterMm) })}</span>` : nothing}</p>
      ${unsafe(wheel)}${overdue(wheel)}
      <div class="care-grid">
        ${flat ? nothing : html`<div>
          <section class="panel"><h2>${t('Wear')}</h2><k-plot .log=${value}></k-plot></section>
          <section class="panel"><h2>${t('What is to be expected')}</h2>${this.foreseen(value)}
            <a class="button primary" href=${link(['wheel', this.wheel])}>${t('Measure the wheel')}</a></section>
        </div>`}
        <div>
          ${flat ? nothing : html`<section class="panel"><h2>${t('Log')}</h2>${entries(value.entries)}</section>`}
          ${wear ? recipes(wear) : nothing}
          <k-inspections .subject=${text(wheel.name)}></k-inspections>
        </div>
      </div>`
  }

  private foreseen({ wear, why, ahead }: WearLog): TemplateResult {
    if (!wear) return html`<p>${sentence(why?.message ?? '')}</p>`
    return html`
      <ul class="texts">${strings(wear.texts, 20).map((words) => html`<li>${sentence(text(words, 600))}</li>`)}</ul>
      ${ahead.length > 0 ? html`<details><summary>${t('As a table')}</summary>${expected(ahead)}</details>` : nothing}`
  }
}

const size = (mm: unknown) => (num(mm) ?? 0) > 0

function entries(all: Entry[]): TemplateResult {
  if (all.length === 0) return html`<p>${t('Nothing was measured yet.')}</p>`
  return html`
    <table class="log kept">
      <thead><tr><th scope="col">${t('Day')}</th><th scope="col">${t('Diameter')}</th><th scope="col">${t('What was done')}</th></tr></thead>
      <tbody>${all.slice(0, 60).map((e) => html`<tr><td>${day(e.time)} <span class="more">${clock(e.time)}</span></td><td class="size">${e.mm === undefined ? '–' : length(e.mm)}</td><td>${done(e)}</td></tr>`)}</tbody>
    </table>
    ${all.length > 60 ? html`<p class="more">${t('Older entries: {n}', { n: all.length - 60 })}</p>` : nothing}`
}

function done({ measurement: m }: Entry): TemplateResult {
  const what = [
    m.dressed === true ? t('dressed') : '', num(m.diameterMm) !== undefined ? t('measured across') : '',
    num(m.aroundMm) !== undefined ? t('strip around the rim: {length}', { length: length(m.aroundMm) }) : '',
  ].filter(Boolean)
  return html`${what.join(', ')}${text(m.notes) ? html`<br />${note(m.notes)}` : nothing}`
}

const expected = (ahead: Expected[]) => html`
  <table class="log">
    <thead><tr><th scope="col">${t('Day')}</th><th scope="col">${t('Expected')}</th><th scope="col">${t('Range')}</th></tr></thead>
    <tbody>${ahead.map((p) => html`<tr><td>${day(p.time)}</td><td class="size">${length(p.mm)}</td><td><span class="size">${length(p.least)} –</span> <span class="size">${length(p.most)}</span></td></tr>`)}</tbody>
  </table>`

/** recipes are what wear does to what is ground on the wheel, the most urgent first. */
function recipes(wear: Wear): TemplateResult | typeof nothing {
  const all = list(wear.recipes, 200).filter((r) => text(r.text))
  if (all.length === 0) return nothing
  return html`
    <section class="panel"><h2>${t('What wear does to recipes')}</h2>
      <ul class="texts">${all.slice(0, 2).map((r) => recipe(r.recipe, r.text, r.measureTime))}</ul>
      ${all.length > 2 ? html`<details><summary>${t('More recipes: {n}', { n: all.length - 2 })}</summary><ul class="texts">${all.slice(2).map((r) => recipe(r.recipe, r.text, r.measureTime))}</ul></details>` : nothing}
    </section>`
}

const recipe = (name: unknown, words: unknown, measure: unknown) => html`
  <li>${timeOf(measure) !== undefined ? html`<strong>${t('{recipe}: measure before {day}', { recipe: id(name), day: day(timeOf(measure)) })}</strong><br />` : nothing}<span class="more">${text(words, 800)}</span></li>`
