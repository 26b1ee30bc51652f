// A solved set-up as cards to go through: one number each, in the order to make them. The sheet on paper counts them alike.
import { list, num, text } from './api/read'
import type { AngleSetting, Basis, LengthSetting, Settings, Setup, Step } from './api/types'
import { degrees, signed } from './format'
import { prefs } from './prefs'
import { t } from './words'

export interface Card {
  /** Index into the set-up's steps. */
  step: number
  /** A number to set, or something to do without one. */
  kind: 'set' | 'do'
  /** stick_out, seat_to_nose, leg_angle, leg_position, or what the support is set by. */
  quantity: string
  /** The engine's text, and the same taken apart for large letters. */
  text: string
  number: string
  unit: string
  /** Where what is measured ends, as the API says it. */
  to: string
  /** Of the drawing. */
  part: string
  /** What a small mistake does. */
  means: string
  /** The last before grinding: what it grinds, and the way the support goes. */
  last: boolean
}

type Support = NonNullable<Step['support']>

/** data are a support's readings: in the answer, in a question, and whether they are angles. */
const data: Record<string, { answer: keyof Support; setting: keyof Settings; angle?: boolean }> = {
  slide: { answer: 'slide', setting: 'slideMm' },
  wheel_gap: { answer: 'wheelGap', setting: 'wheelGapMm' },
  wheel_gap_far: { answer: 'wheelGapFar', setting: 'wheelGapFarMm' },
  pivot_to_axle: { answer: 'pivotToAxle', setting: 'pivotToAxleMm' },
  face_distance: { answer: 'faceDistance', setting: 'faceDistanceMm' },
  height: { answer: 'height', setting: 'heightMm' },
  platform_tilt: { answer: 'platformTilt', setting: 'platformTiltDeg', angle: true },
  platform_to_axle: { answer: 'platformToAxle', setting: 'platformToAxleMm' },
}

export const isAngle = (quantity: string) => quantity === 'leg_angle' || data[quantity]?.angle === true

/** supportReading is what the support of a step is set by, and to. */
export function supportReading(step: Step | undefined): { quantity: string; setting: LengthSetting & AngleSetting } | undefined {
  const quantity = text(step?.support?.setBy)
  const setting = step?.support?.[data[quantity]?.answer ?? 'wheelGap'] as (LengthSetting & AngleSetting) | undefined
  return data[quantity] && setting && typeof setting === 'object' ? { quantity, setting } : undefined
}

/** stepsOf are a set-up's, and lastOf is the one that grinds the edge. */
export const stepsOf = (setup: Setup | undefined): Step[] => list(setup?.steps, 32)
export const lastOf = (setup: Setup | undefined): Step | undefined => stepsOf(setup).at(-1)

/** settingOf is a reading of the support as a question says it. */
export function settingOf(quantity: string, value: number): Settings | undefined {
  const datum = data[quantity]
  return datum ? ({ [datum.setting]: value } as Settings) : undefined
}

/** madeBy are the settings of a step as they were set. */
export function madeBy(step: Step | undefined): Settings {
  const made: Record<string, unknown> = {}
  const stickOut = num(step?.stickOut?.setMm), leg = num(step?.legAngle?.setDeg), support = supportReading(step)
  if (stickOut !== undefined) made['stickOutMm'] = stickOut
  if (text(step?.legPosition)) made['legPosition'] = text(step?.legPosition)
  else if (leg !== undefined) made['legAngleDeg'] = leg
  const reading = support && num(isAngle(support.quantity) ? support.setting.setDeg : support.setting.setMm)
  if (support && reading !== undefined) Object.assign(made, settingOf(support.quantity, reading))
  return made as Settings
}

/** cardsOf takes a set-up apart. What stays as in the step before is not set again. A butted handle's length is measured, not set. */
export function cardsOf(setup: Setup | undefined, butted = false): Card[] {
  const steps = stepsOf(setup)
  const cards: Card[] = []
  steps.forEach((step, i) => {
    const before = i > 0 && sameMachine(step, steps[i - 1]) ? settings(steps[i - 1]!, i) : []
    const todo = settings(step, i).filter((c) => !before.some((b) => b.quantity === c.quantity && b.text === c.text))
    if (todo.length === 0 || isTurned(step)) cards.push({ ...blank, step: i, text: text(step.text) })
    cards.push(...todo)
    const last = cards[cards.length - 1]
    if (last) last.last = true
  })
  if (butted) for (const card of cards) if (card.quantity === 'stick_out') card.quantity = 'seat_to_nose'
  return cards
}

const blank: Card = { step: 0, kind: 'do', quantity: '', text: '', number: '', unit: '', to: '', part: '', means: '', last: false }

// isTurned tells whether the tool is laid otherwise than for the step before.
const isTurned = (step: Step) => step.side === 'SIDE_SECOND' || step.side === 'SIDE_UPPER' || (step.side === 'SIDE_FIRST' && /;/.test(text(step.text)) && !step.stickOut)

const fields: (keyof Basis)[] = ['station', 'wheel', 'holder', 'support']
const sameMachine = (a: Step, b: Step | undefined) => fields.every((f) => a.basis?.[f] === b?.basis?.[f])

function settings(step: Step, i: number): Card[] {
  const found: Card[] = []
  if (step.stickOut) found.push({ ...blank, step: i, kind: 'set', quantity: 'stick_out', part: 'stick_out', ...shown(step.stickOut.text), means: perLength(step.stickOut) })
  const leg = step.legAngle
  if (leg) {
    const position = text(step.legPosition)
    const words = position ? { text: text(leg.text), number: position, unit: degrees(leg.setDeg) } : shown(leg.text)
    found.push({ ...blank, step: i, kind: 'set', quantity: position ? 'leg_position' : 'leg_angle', part: 'leg_angle', ...words, means: perAngle(leg) })
  }
  const support = supportReading(step)
  if (support) {
    const means = isAngle(support.quantity) ? perAngle(support.setting) : perLength(support.setting)
    found.push({ ...blank, step: i, kind: 'set', quantity: support.quantity, part: text(step.figurePart), ...shown(support.setting.text), to: text(support.setting.measuredTo), means })
  }
  return found
}

// shown takes "108.5 mm" apart.
function shown(said: unknown): { text: string; number: string; unit: string } {
  const whole = signed(text(said, 60))
  const [, number = whole, unit = ''] = /^(.*?[0-9⁄/½¼¾])\s*(mm|in|°)$/.exec(whole) ?? []
  return { text: whole, number, unit }
}

function perLength(s: LengthSetting): string {
  const per = num(s.degPerMm)
  return per === undefined ? '' : prefs.inch ? effect(per * (25.4 / 16), t('1/16 in more')) : effect(per, t('1 mm more'))
}

const perAngle = (s: AngleSetting) => effect(num(s.degPerDeg) ?? 0, t('1° more'))

function effect(deg: number, change: string): string {
  if (Math.abs(deg) < 0.005) return ''
  const by = degrees(Math.abs(deg), 2)
  return deg < 0 ? t('{change} is {by} keener', { change, by }) : t('{change} is {by} blunter', { change, by })
}
