// What a scanned or typed code means: an address that a label holds, a name, or what another system calls a thing.
import { id, list, text } from './api/read'
import type { Recipe, Station, Tool } from './api/types'
import { link } from './route'

export interface Known {
  tools: Tool[]
  recipes: Recipe[]
  stations: Station[]
}

const screens: Record<string, string> = { tools: 'tool', recipes: 'recipe', stations: 'station', wheels: 'wheel' }

/** meant is where a code leads, or nothing where it is no code of something known. */
export function meant(code: string, known: Known): string | undefined {
  const said = code.trim()
  if (said === '') return undefined
  const place = /#(\/(?:tool|recipe|station|set-up)\/[^\s]*)$/.exec(said)
  if (place) return '#' + place[1]
  const paper = /\/([ls])\?(\S+)$/.exec(said)
  if (paper) return `#/${paper[1] === 's' ? 'sheet' : 'code'}?${paper[2]}`
  const wanted = said.toLowerCase()
  for (const collection of ['tools', 'recipes', 'stations'] as const) {
    const named = new RegExp(`(?:^|/)${collection}/([a-z0-9-]+)`).exec(wanted)?.[1]
    const found = (known[collection] as Tool[]).find((r) => id(r.name) === (named ?? wanted) || (!named && hasExternal(r, said)))
    if (found) return pageOf(found.name)
  }
  return undefined
}

// pageOf is the page of a record, or nothing where its kind has none.
function pageOf(name: unknown): string | undefined {
  const [collection = '', its = ''] = text(name).split('/').slice(-2), screen = screens[collection]
  return screen && its ? link([screen, its]) : undefined
}

// hasExternal tells whether another system calls it so, with or without that system's name.
function hasExternal(record: Tool, said: string): boolean {
  return list(record.externalIds, 20).some((e) => text(e.value) === said || `${text(e.system)}:${text(e.value)}` === said)
}

/** placeOf is where what a code was found to be of leads, or nothing where it has no page. */
export function placeOf(found: { kind?: string; name?: string; sheet?: Record<string, unknown> }): string | undefined {
  const held = found.kind === 'CODE_KIND_SHEET' ? found.sheet : undefined
  if (held && typeof held === 'object') {
    const said = Object.entries(held).filter(([, v]) => ['string', 'number', 'boolean'].includes(typeof v) && v !== '' && v !== false)
    return link(['sheet'], Object.fromEntries(said.map(([k, v]) => [k, k === 'shop' ? id(v) : String(v)])))
  }
  return pageOf(found.name)
}
