// Where one is on the page: `#/set-up/north/2?tool=bowl-gouge-12` is a path and a query. Everything that a screen needs to be shown again
// is in it, so that back, reload and a link work.

export interface Route {
  path: string[]
  query: URLSearchParams
}

export function parse(hash: string): Route {
  const [path = '', query = ''] = hash.replace(/^#\/?/, '').split('?', 2)
  return { path: path.split('/').filter(Boolean).map(decoded), query: new URLSearchParams(query) }
}

function decoded(part: string): string {
  try {
    return decodeURIComponent(part)
  } catch {
    return part
  }
}

export function link(path: readonly (string | number)[], query: Record<string, string | number | undefined> = {}): string {
  const said = Object.entries(query).filter(([, v]) => v !== undefined && v !== '').map(([k, v]) => [k, String(v)])
  const tail = new URLSearchParams(said).toString()
  return '#/' + path.map((p) => encodeURIComponent(p)).join('/') + (tail ? '?' + tail : '')
}

export const go = (where: string) => {
  location.hash = where
}

/** instead goes on without leaving a step to come back to. */
export const instead = (where: string) => location.replace(where)
