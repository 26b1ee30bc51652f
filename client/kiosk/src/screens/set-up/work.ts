// A job solved, with what its pages show.
import { Problem } from '../../api/http'
import { list, text } from '../../api/read'
import * as shop from '../../api/shop'
import type { Recipe, Settings, Setup, SolveRequest, Station, Tool, Wheel } from '../../api/types'
import { cardsOf, type Card } from '../../cards'
import { recipeOf, requestOf, type Job } from '../../job'
import { stand, standing, type Stand } from '../../memory'
import { asOf } from '../../offline/answers'
import { isLocked, mounted } from '../../tiles'

export interface Work {
  job: Job
  station: Station
  wheel: Wheel | undefined
  tool: Tool | undefined
  recipe: Recipe | undefined
  request: SolveRequest
  /** Absent on a locked station: nobody sees its numbers. */
  setup: Setup | undefined
  cards: Card[]
  /** Where the support stands, when it is the one that is used. */
  stand: Stand | undefined
}

const lockedCode = 'STATION_LOCKED'

/** worked fetches and solves. */
export async function worked(job: Job): Promise<Work> {
  const asked = requestOf(job), solved = asked.then(shop.solve)
  const butted = solved.then(isButted) // asked as soon as the holder is known, whatever else is still on its way
  for (const later of [solved, butted]) later.catch(() => {}) // waited for below, unless the station is locked
  const [station, wheels, tool, recipe, request] = await Promise.all([
    shop.station(shop.named('stations', job.station)), shop.wheels(), job.tool ? shop.tool(shop.named('tools', job.tool)) : undefined, recipeOf(job), asked,
  ])
  const work: Work = { job, station, tool, recipe, request, wheel: mounted(wheels, station), setup: undefined, cards: [], stand: undefined }
  if (isLocked(station)) return work
  let setup = await solved
  if (list(setup.cautions).some((c) => c.code === lockedCode)) return { ...work, station: { ...station, state: 'STATION_STATE_LOCKED' } }
  const known = stand(text(station.name))
  if (!asOf(setup) && known && known.support === text(setup.basis?.support)) {
    const moved = await from(request, standing(known))
    if (moved) [setup, work.stand] = [moved, known]
  }
  work.setup = setup
  work.cards = cardsOf(setup, await butted)
  return work
}

async function isButted(setup: Setup): Promise<boolean> {
  const holder = text(setup.basis?.holder)
  return holder !== '' && (await shop.holder(holder)).butted !== undefined
}

// from solves with the moves from where the support stands; a stand that the machine does not have is not asked about again.
async function from(request: SolveRequest, now: Settings | undefined): Promise<Setup | undefined> {
  if (!now) return undefined
  try {
    return await shop.solve({ ...request, now })
  } catch (thrown) {
    if (thrown instanceof Problem && !thrown.passing) return undefined
    throw thrown
  }
}
