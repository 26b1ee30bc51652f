// Small pictures beside words, never instead of them.
import { svg, html, type TemplateResult } from 'lit'

const icon = (content: TemplateResult<2>) => html`<svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">${content}</svg>`

export const lockIcon = () => icon(svg`<rect x="5" y="11" width="14" height="9" rx="1.5" /><path d="M8 11V8a4 4 0 0 1 8 0v3" />`)
export const readyIcon = () => icon(svg`<path d="M5 12.5l4.5 4.5L19 7.5" />`)
export const warnIcon = () => icon(svg`<path d="M12 4.5L21 19.5H3z" /><path d="M12 10v4.5M12 16.8v.4" />`)
export const stopIcon = () => icon(svg`<path d="M8.2 3.5h7.6l4.7 4.7v7.6l-4.7 4.7H8.2l-4.7-4.7V8.2z" /><path d="M12 7.5v6M12 16.2v.5" />`)
export const backIcon = () => icon(svg`<path d="M14.5 5.5L8 12l6.5 6.5" />`)
export const nextIcon = () => icon(svg`<path d="M9.5 5.5L16 12l-6.5 6.5" />`)
export const cameraIcon = () => icon(svg`<path d="M4 8h3.5L9 5.5h6L16.5 8H20v11H4z" /><circle cx="12" cy="13.2" r="3.3" />`)
export const searchIcon = () => icon(svg`<circle cx="10.5" cy="10.5" r="6" /><path d="M15 15l5.5 5.5" />`)
export const printIcon = () => icon(svg`<path d="M7 9V4h10v5M7 16H4V9h16v7h-3" /><path d="M7 13.5h10V20H7z" />`)
export const eraseIcon = () => icon(svg`<path d="M9 6h11v12H9l-6-6z" /><path d="M12 9.5l5 5M17 9.5l-5 5" />`)
export const optionsIcon = () => icon(svg`<path d="M4 7h9M17 7h3M4 17h3M11 17h9" /><circle cx="15" cy="7" r="2" /><circle cx="9" cy="17" r="2" />`)

/** aim is the frame that a code is held into. */
export const aim = () => html`<svg class="aim" viewBox="0 0 100 100" aria-hidden="true" focusable="false">
  <path d="M1 24V8a7 7 0 0 1 7-7h16M76 1h16a7 7 0 0 1 7 7v16M99 76v16a7 7 0 0 1-7 7H76M24 99H8a7 7 0 0 1-7-7V76" /></svg>`
