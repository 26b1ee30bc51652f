// Readers of what came from elsewhere: the declared types say what a server should send, these take what it did send.

const longest = 400 // letters of one text on a screen
const largest = 1e15 // above that no number is of a workshop, and few can be written out

/** text is a string that can be shown, or nothing. */
export function text(value: unknown, most = longest): string {
  const s = typeof value === 'string' ? value : (num(value)?.toFixed(6).replace(/\.?0+$/, '') ?? '')
  return s.length > most ? s.slice(0, most) + '…' : s
}

/** num is a number that people can read, or undefined. */
export function num(value: unknown): number | undefined {
  return typeof value === 'number' && Math.abs(value) < largest ? value : undefined
}

/** across is the diameter that a measurement says, as the engine has it (AroundToDiameter): a strip around the rim is π times as long. */
export function across(m: { diameterMm?: unknown; aroundMm?: unknown }): number | undefined {
  const around = num(m.aroundMm)
  return num(m.diameterMm) ?? (around === undefined ? undefined : around / Math.PI)
}

/** list is an array of objects, or an empty one. */
export function list<T extends object>(value: readonly T[] | undefined, most = 1000): T[] {
  if (!Array.isArray(value)) return []
  return value.filter((v) => typeof v === 'object' && v !== null && !Array.isArray(v)).slice(0, most)
}

/** strings is an array of texts. */
export function strings(value: unknown, most = 200): string[] {
  return Array.isArray(value) ? value.filter((v): v is string => typeof v === 'string').slice(0, most) : []
}

/** id is the last part of a name such as `shops/main/tools/bowl-gouge-12`. */
export function id(name: unknown): string {
  return text(name).split('/').pop() ?? ''
}

/** called is what people call a record. */
export function called(record: { name?: string; displayName?: string } | undefined): string {
  return text(record?.displayName) || id(record?.name) || '–'
}

/** parsed reads JSON and leaves out keys by which a template library would take plain data for markup. */
export function parsed(body: string): unknown {
  return JSON.parse(body, (key, value: unknown) => (key.startsWith('_$') || key === '__proto__' ? undefined : value))
}
