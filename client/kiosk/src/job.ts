// What is being set up: a tool or a recipe on a station, with what was decided otherwise than the recipe says. It lives in the address.
import * as shop from './api/shop'
import { list, num, text } from './api/read'
import type { Bevel, Recipe, Settings, SolveRequest, Way } from './api/types'
import { link, type Route } from './route'

export interface Job {
  station: string
  tool: string
  recipe: string
  /** Decided otherwise, in millimetres and degrees; a leg is a position's mark or, with `°`, an angle. */
  stickOut?: number | undefined
  leg?: string | undefined
  edge?: number | undefined
}

export function jobOf(route: Route): Job {
  const q = route.query
  const number = (key: string) => (q.has(key) ? num(Number(q.get(key))) : undefined)
  const job: Job = { station: route.path[1] ?? '', tool: q.get('tool') ?? '', recipe: q.get('recipe') ?? '' }
  const stickOut = number('stickOut'), edge = number('edge'), leg = q.get('leg')
  if (stickOut !== undefined) job.stickOut = stickOut
  if (edge !== undefined) job.edge = edge
  if (leg) job.leg = leg
  return job
}

/** jobLink is the address of a page of a job. */
export const jobLink = (job: Job, page: string | number, more: Record<string, string> = {}) =>
  link(['set-up', job.station, page], { tool: job.tool, recipe: job.recipe, stickOut: job.stickOut, leg: job.leg, edge: job.edge, ...more })

/** toolLink is where a station is chosen for it. */
export const toolLink = (job: Pick<Job, 'tool' | 'recipe'>) => (job.tool ? link(['tool', job.tool], { recipe: job.recipe }) : link(['recipe', job.recipe]))

/** recipeOf is the recipe that a job means: its own, or its tool's. */
export async function recipeOf(job: Job): Promise<Recipe | undefined> {
  if (job.recipe) return await shop.recipe(shop.named('recipes', job.recipe))
  if (!job.tool) return undefined
  const name = text((await shop.tool(shop.named('tools', job.tool))).recipe)
  return name ? await shop.recipe(name) : undefined
}

type Angle = 'frontAngleDeg' | 'readingDeg' | 'includedFrontAngleDeg' | 'includedReadingDeg'

/** angleOf is by which angle a bevel is told. */
export function angleOf(bevel: Bevel | undefined): { by: Angle; deg: number } | undefined {
  for (const by of ['frontAngleDeg', 'readingDeg', 'includedFrontAngleDeg', 'includedReadingDeg'] as const) {
    const deg = num(bevel?.[by])
    if (deg !== undefined) return { by, deg }
  }
  return undefined
}

/** requestOf is the question to the API. */
export async function requestOf(job: Job): Promise<SolveRequest> {
  const request: Record<string, unknown> = {
    rig: { station: shop.named('stations', job.station), ...(job.tool ? { tool: shop.named('tools', job.tool) } : {}) },
    include: shop.wholeAnswer,
  }
  if (job.recipe) request['recipe'] = shop.named('recipes', job.recipe)
  const given = givenBy(job)
  if (job.edge !== undefined) Object.assign(request, await otherEdge(job, job.edge, request, given))
  else if (Object.keys(given).length > 0) request['given'] = given
  return request as SolveRequest
}

// otherEdge writes the recipe out, with another angle of its first bevel: a named recipe has the angle that it has.
async function otherEdge(job: Job, deg: number, request: Record<string, unknown>, given: Settings): Promise<object> {
  const recipe = await recipeOf(job)
  const [first, ...others] = list(recipe?.grind?.bevels, 16)
  const told = angleOf(first)
  if (!recipe?.grind || !first || !told) return {}
  const kept: Settings = { ...recipe.settings }
  if (given.legPosition !== undefined) delete kept.legAngleDeg
  if (given.legAngleDeg !== undefined) delete kept.legPosition
  const rig = request['rig'] as object
  return {
    recipe: undefined,
    grind: { ...recipe.grind, bevels: [{ ...first, [told.by]: deg }, ...others] },
    rig: recipe.holder ? { ...rig, holder: recipe.holder } : rig,
    given: { ...kept, ...given },
  }
}

function givenBy(job: Job): Settings {
  const given: Record<string, unknown> = {}
  if (job.stickOut !== undefined) given['stickOutMm'] = job.stickOut
  if (job.leg?.endsWith('°')) given['legAngleDeg'] = Number(job.leg.slice(0, -1))
  else if (job.leg) given['legPosition'] = job.leg
  return given as Settings
}

/** taken is a job with settings that would work in place of its own. */
export function taken(job: Job, way: Way): Job {
  const s = way.settings, next = { ...job }, stickOut = num(s?.stickOutMm), leg = num(s?.legAngleDeg), edge = angleOf(way.firstBevel)
  if (stickOut !== undefined) next.stickOut = stickOut
  if (text(s?.legPosition)) next.leg = text(s?.legPosition)
  else if (leg !== undefined) next.leg = leg + '°'
  if (edge) next.edge = edge.deg
  return next
}
