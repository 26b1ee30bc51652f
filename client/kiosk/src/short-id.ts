// Short ids of labels, read here while the API is away.
const letters: Record<string, string> = { T: 'tools', S: 'stations', W: 'wheels', R: 'recipes' }
const symbols = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*'

/** shortId reads one as the API does (ISO/IEC 7064, MOD 37-2), for when that is away; nothing where its check character is another. */
export function shortId(code: string): { collection: string; id: string } | undefined {
  const [whole = '', letter = '', its = ''] = /^([A-Z])\.([A-Z0-9-]+)\.[0-9A-Z*]$/.exec(code.trim().toUpperCase()) ?? [], collection = letters[letter]
  const sum = [...whole.replaceAll('.', '').replaceAll('-', '*')].reduce((sum, c) => (2 * sum + symbols.indexOf(c)) % symbols.length, 0)
  return collection && sum === 1 ? { collection, id: its.toLowerCase() } : undefined
}
