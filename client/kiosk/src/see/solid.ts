// The finished tool's solid: read from the API's file, dressed as ground steel, with its creases drawn.
import {
  DataTexture, EdgesGeometry, Group, LineBasicMaterial, LineSegments, LinearFilter, LoadingManager, Mesh, MeshMatcapMaterial, RGBAFormat, SRGBColorSpace, Sphere,
  Vector3, type BufferGeometry, type Material,
} from 'three'
import { GLTFLoader } from 'three/examples/jsm/loaders/GLTFLoader.js'

export interface Look {
  dark: boolean
  /** Lines stand out more. */
  strong: boolean
  ink: string
}

export interface Solid {
  group: Group
  /** Around the ground face, in mm from the nose. */
  ground: Sphere
}

const mm = 1000 // the file is in metres
const crease = 28 // degrees
const mostTriangles = 250_000
const farthest = 2 // m: no tool is longer

/** read makes a solid of a file; whatever is not one throws. */
export async function read(file: ArrayBuffer): Promise<Mesh[]> {
  const alone = new LoadingManager()
  alone.setURLModifier((url) => {
    throw new Error(`the solid asks for another file: ${url.slice(0, 80)}`)
  })
  const { scene } = await new GLTFLoader(alone).parseAsync(file, '')
  const found: Mesh[] = []
  scene.traverse((node) => {
    if (node instanceof Mesh) found.push(node as Mesh)
  })
  let triangles = 0
  for (const mesh of found) triangles += checked(mesh.geometry)
  if (triangles === 0 || triangles > mostTriangles) throw new Error(`a solid of ${triangles} triangles`)
  return found
}

// checked counts the triangles of a geometry that can be drawn.
function checked(geometry: BufferGeometry): number {
  const position = geometry.getAttribute('position'), index = geometry.getIndex()
  if (!position || !geometry.getAttribute('normal') || !index || index.count % 3 !== 0) throw new Error('the solid lacks places, normals or triangles')
  for (let i = 0; i < position.count; i++) {
    if (!(Math.max(Math.abs(position.getX(i)), Math.abs(position.getY(i)), Math.abs(position.getZ(i))) < farthest)) throw new Error('the solid goes too far')
  }
  for (let i = 0; i < index.count; i++) if (index.getX(i) >= position.count) throw new Error('the solid has triangles without corners')
  return index.count / 3
}

/** dressed makes one group of the meshes, as steel. */
export function dressed(meshes: readonly Mesh[], look: Look): Solid {
  const group = new Group(), ground = new Sphere()
  const lines = new LineBasicMaterial({ color: look.ink, transparent: true, opacity: look.strong ? 1 : 0.55 })
  const steel: Record<string, Material> = {}
  let first = true
  for (const mesh of meshes) {
    const kind = (Array.isArray(mesh.material) ? mesh.material[0] : mesh.material)?.name ?? ''
    dispose(mesh.material)
    steel[kind] ??= material(kind, look)
    const geometry = mesh.geometry.scale(mm, mm, mm)
    group.add(new Mesh(geometry, steel[kind]), new LineSegments(new EdgesGeometry(geometry, crease), lines))
    if (kind !== 'ground') continue
    geometry.computeBoundingSphere()
    if (first && geometry.boundingSphere) ground.copy(geometry.boundingSphere)
    else if (geometry.boundingSphere) ground.union(geometry.boundingSphere)
    first = false
  }
  if (first) ground.set(new Vector3(), 12)
  return { group, ground }
}

const dispose = (m: Material | Material[]) => (Array.isArray(m) ? m : [m]).forEach((one) => one.dispose())

// Finishes by surface: how bright, how glossy, and how much light from below.
const finishes: Record<string, { bright: number; gloss: number; below: number }> = {
  ground: { bright: 1.08, gloss: 0.35, below: 0.3 },
  flute: { bright: 0.84, gloss: 0.9, below: 0.1 },
  bar: { bright: 0.62, gloss: 0.4, below: 0.06 },
  cut: { bright: 0.55, gloss: 0, below: 0.06 },
}

// material by the surface's name: the ground face is bright and shows the marks of the wheel, the flute is polished, the bar is dull.
function material(kind: string, look: Look): Material {
  const { bright, gloss, below } = finishes[kind] ?? finishes['bar']!
  const m = new MeshMatcapMaterial({ matcap: studio(look.dark ? 0.9 * bright : bright, gloss, below), polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 })
  if (kind === 'ground') marked(m)
  return m
}

// marked draws the wheel's marks: fine lines that run as the wheel did, which the file tells by u, in mm across them.
function marked(m: MeshMatcapMaterial): void {
  m.defines = { ...m.defines, USE_UV: '' }
  m.onBeforeCompile = (shader) => {
    shader.fragmentShader = shader.fragmentShader
      .replace('void main() {', `
        float scratch(float x) { return fract(sin(floor(x) * 12.9898) * 43758.5453); }
        float marks(float mm, float perMm) {
          float x = mm * perMm, soft = smoothstep(0.0, 1.0, fract(x));
          float seen = 1.0 - smoothstep(0.35, 0.9, fwidth(x)); // finer than a pixel: not drawn
          return (mix(scratch(x), scratch(x + 1.0), soft) - 0.5) * seen;
        }
        void main() {`)
      .replace('#include <opaque_fragment>', 'outgoingLight *= 1.0 + 0.16 * marks(vUv.x, 1.7) + 0.30 * marks(vUv.x + 7.0, 4.9) + 0.30 * marks(vUv.x + 3.0, 11.0);\n#include <opaque_fragment>')
  }
}

// studio is a ball of steel under soft light, from which every surface takes its shade by how it faces the eye.
function studio(bright: number, gloss: number, below: number): DataTexture {
  const size = 128, pixels = new Uint8Array(size * size * 4)
  for (let row = 0; row < size; row++) {
    for (let column = 0; column < size; column++) {
      const x = (2 * (column + 0.5)) / size - 1, y = (2 * (row + 0.5)) / size - 1, flat = Math.min(1, Math.hypot(x, y)), z = Math.sqrt(1 - flat * flat)
      const key = Math.max(0, -0.45 * x + 0.66 * y + 0.6 * z), fill = Math.max(0, 0.8 * x + 0.1 * y + 0.4 * z), box = gloss * Math.exp(-(((x + 0.32) / 0.34) ** 2 + ((y - 0.45) / 0.22) ** 2))
      const rim = 0.14 * flat ** 5 * Math.max(0, 0.3 + y)
      const light = bright * (0.34 + 0.36 * key + 0.14 * fill + 0.26 * box + below * Math.max(0, 0.75 * z - 0.65 * y) + rim)
      const at = 4 * (row * size + column)
      pixels[at] = shade(light * 0.985)
      pixels[at + 1] = shade(light)
      pixels[at + 2] = shade(light * 1.02)
      pixels[at + 3] = 255
    }
  }
  const texture = new DataTexture(pixels, size, size, RGBAFormat)
  texture.colorSpace = SRGBColorSpace
  texture.minFilter = texture.magFilter = LinearFilter
  texture.needsUpdate = true
  return texture
}

const shade = (light: number) => Math.round(255 * Math.min(1, Math.max(0, light)))
