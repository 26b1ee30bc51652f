// What the API refused, in its own words, with what would work.
import { html, nothing, type TemplateResult } from 'lit'
import type { Problem } from '../api/http'
import { text } from '../api/read'
import type { Way } from '../api/types'
import { t } from '../words'
import { warnIcon } from './icons'

/** refusal shows a problem; ways can be taken where somebody says how. */
export function refusal(problem: Problem, take?: (way: Way) => void): TemplateResult {
  const ways = problem.ways.filter((w) => text(w.text))
  return html`
    <section class="refusal" role="alert">
      <h2>${warnIcon()} ${problem.passing ? t('No answer') : t('This does not work')}</h2>
      <p>${sentence(problem.message)}</p>
      ${ways.length > 0
        ? html`<h3>${t('What would work')}</h3>
            <ul class="ways">${ways.map((w) => html`<li>${take ? html`<button type="button" @click=${() => take(w)}>${text(w.text)}</button>` : text(w.text)}</li>`)}</ul>`
        : nothing}
    </section>`
}

/** sentence begins with a capital and ends with a full stop. */
export function sentence(words: string): string {
  const s = words.trim()
  return s === '' ? '' : s[0]!.toLocaleUpperCase() + s.slice(1) + (/[.!?…]$/.test(s) ? '' : '.')
}
