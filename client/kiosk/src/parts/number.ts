// The one number of a screen, as large as the hand: the style sheet fits it by how many letters it has.
import { html, nothing, type TemplateResult } from 'lit'

const fraction = /^(.*?)(\d+\/\d+)(.*)$/

export function bigNumber(number: string, unit: string, label: string): TemplateResult {
  const parts = fraction.exec(number)
  const figures = parts ? html`${parts[1]?.trim()}<span class="fraction">${parts[1] ? ' ' : ''}${parts[2]}</span><span class="beyond">${parts[3]}</span>` : number
  const letters = width(parts ? (parts[1] ?? '').trim() : number) + (parts ? 2 + width(parts[3] ?? '') / 2 : 0) + unitWidth(unit)
  return html`
    <div class="number-box">
      <p class="number" .style=${`--letters:${Math.max(2.6, letters).toFixed(2)}`} aria-label=${`${label}: ${number} ${unit}`}>
        <span class="figures">${figures}</span>${unit ? html`<span class=${unit === '°' ? 'unit tight' : 'unit'}>${unit === '°' ? unit : ' ' + unit}</span>` : nothing}
      </p>
    </div>`
}

// width of figures, in those of a digit.
const width = (figures: string) => [...figures].reduce((sum, c) => sum + (/[.,\s]/.test(c) ? 0.45 : c === '⌀' ? 1.3 : 1), 0)

const unitWidth = (unit: string) => (unit === '' ? 0 : unit === '°' ? 0.5 : 0.35 + unit.length * 0.45)
