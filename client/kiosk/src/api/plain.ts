// A refusal's words without the API's own names: people at the page read neither records' full names nor paths of fields.
import { bare, quantityOf } from '../quantities'
import { t } from '../words'

/** Violation is a field that was refused, with what is wrong with it. */
export interface Violation {
  field: string
  text: string
}

/** plain says a refusal for people. Its values and limits stay as the API wrote them. */
export function plain(words: string, violations: Violation[]): string {
  const paths = violations.filter((v) => /\W|_/.test(v.field)) // a field that is a word can be read
  const said = paths.reduce((all, v) => all.replace(`${v.field} ${v.text}`, () => about(v)).replace(`${v.field}: ${v.text}`, () => about(v)), words)
  return said.replace(/^shops\/[^\s/]+\/\w+\/\S+: /, '').replace(/\bshops\/[^\s/]+\/\w+\//g, '').replace(/[\w.[\]]*_(?:mm|deg)\b/g, (field) => quantityOf(field) ?? bare(field).replaceAll('_', ' '))
}

const range = /^is ([^;]+); it must be (above|from) ([^;]+?) (and below|and at most|to) ([^;]+)$/

// about names what a field is of, where that has a name here; what is wrong with the others can be told without.
function about({ field, text }: Violation): string {
  const name = quantityOf(field), what = name ?? t('This'), [, value = '', from, least = '', to, most = ''] = range.exec(text) ?? []
  if (from === 'from') return t('{what} is {value}; it must be from {least} to {most}', { what, value, least, most })
  if (to === 'and below') return t('{what} is {value}; it must be above {least} and below {most}', { what, value, least, most })
  if (to) return t('{what} is {value}; it must be above {least} and at most {most}', { what, value, least, most })
  return text.startsWith('is ') ? `${name ?? 'This'} ${text}` : text // English, as the rest of it
}
