// The API's messages by their own names; schema.d.ts is made from the OpenAPI description by `npm run types`.
import type { components } from './schema'

type Schemas = components['schemas']

// Every field may be missing, and of a oneof any may be there: what a server really sends is looked at where it is used.
type Keys<T> = T extends unknown ? keyof { [K in keyof T as string extends K ? never : K]: 0 } : never
type Value<T, K> = T extends unknown ? (K extends keyof T ? T[K] : never) : never
type Loose<T> = [T] extends [readonly (infer E)[]] ? Loose<E>[] : [T] extends [object] ? { [K in Keys<T>]?: Loose<Exclude<Value<T, K>, undefined>> } : T

export type Angles = Loose<Schemas['arris.v1.Angles']>
export type AngleSetting = Loose<Schemas['arris.v1.AngleSetting']>
export type Basis = Loose<Schemas['arris.v1.Basis']>
export type Bevel = Loose<Schemas['arris.v1.Bevel']>
export type Caution = Loose<Schemas['arris.v1.Caution']>
export type Edge = Loose<Schemas['arris.v1.Edge']>
export type EdgeAnswer = Loose<Schemas['arris.v1.AnalyzeEdgeResponse']>
export type EdgePoint = Loose<Schemas['arris.v1.EdgePoint']>
export type Figure = Loose<Schemas['arris.v1.Figure']>
export type FigureItem = Loose<Schemas['arris.v1.FigureItem']>
export type FigurePoint = Loose<Schemas['arris.v1.FigurePoint']>
export type Gauge = Loose<Schemas['arris.v1.Gauge']>
export type Holder = Loose<Schemas['arris.v1.Holder']>
export type InkMark = Loose<Schemas['arris.v1.InkMark']>
export type InkTrial = Loose<Schemas['arris.v1.InkTrial']>
export type Inspection = Loose<Schemas['arris.v1.Inspection']>
export type LengthSetting = Loose<Schemas['arris.v1.LengthSetting']>
export type Match = Loose<Schemas['arris.v1.MatchGrindResponse']>
export type Recipe = Loose<Schemas['arris.v1.Recipe']>
export type Rig = Loose<Schemas['arris.v1.Rig']>
export type Settings = Loose<Schemas['arris.v1.Settings']>
export type Setup = Loose<Schemas['arris.v1.Setup']>
export type Sharpening = Loose<Schemas['arris.v1.Sharpening']>
export type SharpeningKind = Loose<Schemas['arris.v1.SharpeningKind']>
export type SolveRequest = Loose<Schemas['arris.v1.SolveSetupRequest']>
export type Station = Loose<Schemas['arris.v1.Station']>
export type Step = Loose<Schemas['arris.v1.Step']>
export type SupportSetting = Loose<Schemas['arris.v1.SupportSetting']>
export type Tool = Loose<Schemas['arris.v1.Tool']>
export type Way = Loose<Schemas['arris.v1.Way']>
export type Wear = Loose<Schemas['arris.v1.ForecastWearResponse']>
export type Wheel = Loose<Schemas['arris.v1.Wheel']>
export type WheelMeasurement = Loose<Schemas['arris.v1.WheelMeasurement']>
export type Wording = Loose<Schemas['arris.v1.Wording']>
