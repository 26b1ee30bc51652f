// What a diameter measured here does to numbers that were calculated for another: how far that is times the sensitivity that the engine gave
// with them. It is the one angle that this page reckons by itself, and it is called an estimate wherever it is shown.
import { list, num } from '../api/read'
import type { Setup, Wheel } from '../api/types'
import { lastOf } from '../cards'
import { asOf } from './answers'

export interface Drift {
  oldMm: number
  newMm: number
  /** Of the edge angle, when the machine is set to these numbers, or is left as it was set to them. */
  setDeg: number | undefined
  leftDeg: number | undefined
}

const least = 0.005 // mm

/** driftOf is nothing where the numbers are of now, or for the wheel as it is. */
export function driftOf(setup: Setup | undefined, wheel: Wheel | undefined): Drift | undefined {
  const oldMm = num(setup?.basis?.wheelDiameterMm), newMm = num(wheel?.diameterMm)
  if (oldMm === undefined || newMm === undefined || !asOf(setup) || setup?.basis?.wheel !== wheel?.name || Math.abs(newMm - oldMm) < least) return undefined
  const step = lastOf(setup), grown = newMm - oldMm
  const perMm = num(list(step?.errorBudget).find((item) => item.quantity === 'wheel_diameter')?.degPerUnit), wornPerMm = num(step?.predicted?.wearDegPerMm)
  const times = (deg: number | undefined, mm: number) => (deg === undefined ? undefined : deg * mm)
  return { oldMm, newMm, setDeg: times(perMm, grown), leftDeg: times(wornPerMm, -grown) }
}
