// What a page of a set-up is about, in one line.
import { html, nothing, type TemplateResult } from 'lit'
import { called } from '../../api/read'
import { unsafe } from '../../due'
import { asOfNote } from '../../parts/as-of'
import type { Work } from './work'

export const about = (work: Work): TemplateResult => html`
  <p class="about"><strong>${called(work.tool ?? work.recipe)}</strong>${work.tool && work.recipe ? html` <span>${called(work.recipe)}</span>` : nothing} <span>${called(work.station)}</span></p>${asOfNote(work.setup, work.wheel)}${unsafe(work.station, true)}${unsafe(work.wheel, true)}`
