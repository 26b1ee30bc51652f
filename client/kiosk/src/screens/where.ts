// A tool or a recipe was chosen: where is it ground? Every station says beforehand whether it can.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement, property } from 'lit/decorators.js'
import { Problem, problemOf } from '../api/http'
import { called, id, list, num, text } from '../api/read'
import * as shop from '../api/shop'
import type { Recipe, Setup, Station, Tool, Wheel } from '../api/types'
import { lastOf } from '../cards'
import { overdue } from '../due'
import { degrees } from '../format'
import { angleOf, jobLink, recipeOf, requestOf, type Job } from '../job'
import { noteRecent } from '../memory'
import { warnIcon } from '../parts/icons'
import { refusal, sentence } from '../parts/refusal'
import { Load, Screen, waiting } from '../parts/screen'
import { link, type Route } from '../route'
import { believed, isLocked, mounted, stateOf, toolTile } from '../tiles'
import { t } from '../words'

interface Choice {
  station: Station
  answer: Setup | Problem | undefined
}

@customElement('k-where')
export class Where extends Screen {
  @property({ attribute: false }) route!: Route
  private readonly what = new Load<{ tool: Tool | undefined; recipe: Recipe | undefined; wheels: Wheel[]; ground: Tool[]; choices: Choice[] }>(this)

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('route')) void this.load()
  }

  protected override reworded(): void {
    void this.load()
  }

  private get job(): Job {
    const [kind, its = ''] = this.route.path
    const named = this.route.query.get('recipe') ?? ''
    return kind === 'tool' ? { station: '', tool: its, recipe: named } : { station: '', tool: '', recipe: its }
  }

  private load() {
    const job = this.job
    return this.what.follow(async () => {
      const [tool, recipe, stations, wheels, tools] = await Promise.all([
        job.tool ? shop.tool(shop.named('tools', job.tool)) : undefined, recipeOf(job), shop.stations(), shop.wheels(), job.tool ? [] : shop.tools(),
      ])
      noteRecent(job.tool ? `tools/${job.tool}` : `recipes/${job.recipe}`)
      const choices = await Promise.all(stations.map((station) => this.tried(job, station, recipe !== undefined)))
      return { tool, recipe, wheels, choices, ground: tools.filter((its) => its.recipe === recipe?.name) }
    })
  }

  private async tried(job: Job, station: Station, solvable: boolean): Promise<Choice> {
    if (isLocked(station) || !solvable) return { station, answer: undefined }
    try {
      const request = await requestOf({ ...job, station: id(station.name) })
      return { station, answer: await shop.solve({ ...request, include: [] }) }
    } catch (thrown) {
      const problem = problemOf(thrown)
      if (problem.passing) throw problem
      return { station, answer: problem }
    }
  }

  protected override render() {
    const { value, problem } = this.what
    if (!value) return problem ? refusal(problem) : waiting()
    const { tool, recipe, choices, ground } = value
    const told = list(recipe?.grind?.bevels, 16).map(angleOf).filter((a) => a !== undefined), [edge] = told
    return html`
      <h1>${called(tool ?? recipe)}</h1>
      <p class="lead">${recipe
        ? html`${tool ? html`${called(recipe)} · ` : nothing}${edge ? html`${angleWords(edge.by)} ${told.map((a) => degrees(a.deg)).join(', ')}` : nothing}`
        : t('This tool has no recipe yet: search one, or match its grind.')}</p>
      ${ground.length > 0
        ? html`<section><h2>${t('For which tool? Its steel decides the bevel reading.')}</h2><div class="tiles wide">${ground.map(toolTile)}</div></section>`
        : nothing}
      <section>
        <h2>${tool || ground.length === 0 ? t('On which station?') : t('For any tool: on which station?')}</h2>
        <div class="tiles wide">${choices.map((c) => this.choice(c, value.wheels))}</div>
      </section>`
  }

  private choice({ station, answer }: Choice, wheels: Wheel[]): TemplateResult {
    const refused = answer instanceof Problem
    const where = isLocked(station) || refused ? link(['station', id(station.name)]) : jobLink({ ...this.job, station: id(station.name) }, 'wheel')
    const step = answer instanceof Problem ? undefined : lastOf(answer)
    return html`
      <a class=${refused || isLocked(station) ? 'tile faint' : 'tile'} href=${where}>
        <span class="name">${called(station)}</span>
        ${refused
          ? html`<span class="state refused">${warnIcon()} <span>${sentence(text(answer.message))}</span></span>`
          : stateOf(station, mounted(wheels, station))}${overdue(station)}
        <span class="more">${believed(mounted(wheels, station))}${num(step?.predicted?.expandedUncertaintyDeg) === undefined || isLocked(station)
          ? nothing
          : html` · ${t('good to ±{deg}', { deg: degrees(step?.predicted?.expandedUncertaintyDeg) })}`}</span>
      </a>`
  }
}

function angleWords(by: string): string {
  switch (by) {
    case 'readingDeg': return t('bevel reading')
    case 'includedFrontAngleDeg': return t('included angle')
    case 'includedReadingDeg': return t('included reading')
    default: return t('edge angle')
  }
}
