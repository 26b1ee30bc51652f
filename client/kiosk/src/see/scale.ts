// The colours of wedge angles. Their lightness alone tells keen from blunt, so they work for every eye and in grey; numbers stand beside them.
import type { Scale } from './edge'

/** stops from keen to blunt, evenly spaced. */
export const stops = ['#3d2d8f', '#2a6fb0', '#1fa08c', '#93c83e', '#fde24a'] as const

const least = 0.25 // degrees: less than this is one angle and one colour

/** share of the way from keen to blunt, 0 to 1. */
export function share(wedge: number, scale: Scale): number {
  const span = scale.blunt - scale.keen
  return span < least ? 0.5 : Math.min(1, Math.max(0, (wedge - scale.keen) / span))
}

/** colour of a share, as red, green and blue from 0 to 1. */
export function colour(of: number): [number, number, number] {
  const place = Math.min(1, Math.max(0, of)) * (stops.length - 1), i = Math.min(stops.length - 2, Math.floor(place))
  const a = parts(stops[i]!), b = parts(stops[i + 1]!)
  return [0, 1, 2].map((c) => a[c]! + (b[c]! - a[c]!) * (place - i)) as [number, number, number]
}

const parts = (hex: string) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255)
