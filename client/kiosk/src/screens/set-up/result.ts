// What a step grinds, in words. Edge angle and bevel reading are always named: on a hollow grind they are two angles.
import { num } from '../../api/read'
import type { Recipe, Setup, Step } from '../../api/types'
import { stepsOf } from '../../cards'
import { degrees } from '../../format'
import { t } from '../../words'

export function grinds(step: Step | undefined): string {
  const a = step?.predicted, angle = degrees(a?.edgeAngleDeg), doubt = degrees(a?.expandedUncertaintyDeg)
  const words = [(step?.bevel ?? 0) > 0 ? t('Front angle {angle} ± {doubt}', { angle, doubt }) : t('Edge angle {angle} ± {doubt}', { angle, doubt })]
  if (num(a?.includedEdgeAngleDeg) !== undefined) words.push(t('both faces together {angle}', { angle: degrees(a?.includedEdgeAngleDeg) }))
  if (num(a?.bevelReadingDeg) !== undefined) words.push(t('a protractor on the bevel shows {angle}', { angle: degrees(a?.bevelReadingDeg) }))
  return words.join('; ')
}

/** tolerance is how far off an edge may be and still be this grind. */
export function tolerance(recipe: Recipe | undefined): string {
  const deg = num(recipe?.toleranceDeg)
  return deg === undefined ? '' : t('Within ±{deg} it is still this grind', { deg: degrees(deg) })
}

/** whichBevel says which of several is ground. */
export function whichBevel(setup: Setup | undefined, i: number): string {
  const steps = stepsOf(setup), step = steps[i]
  if (steps.length < 2 || !step) return ''
  switch (step.side) {
    case 'SIDE_SECOND': return t('second side, the tool turned over')
    case 'SIDE_FIRST': return t('first side')
    case 'SIDE_UPPER': return t('the bevel above the edge')
    default: return (step.bevel ?? 0) === 0 ? t('the edge itself') : t('bevel {n} from the edge', { n: (step.bevel ?? 0) + 1 })
  }
}
