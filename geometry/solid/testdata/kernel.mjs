// Grinds blanks with an outside solid kernel (manifold-3d) and measures what is left. Reads a job as JSON from standard input, writes
// its result. It knows nothing of how a grind is computed: it subtracts wheels where it is told that they stand.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';

const tools = createRequire(process.argv[2] + '/');
const Module = (await import(pathToFileURL(process.argv[2] + '/manifold-3d/manifold.js'))).default;
const validator = tools('gltf-validator');
const kernel = await Module();
kernel.setup();
const { Manifold, Mesh } = kernel;

const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const length = (a) => Math.hypot(...a);
const frame = (x, y, z, at) => [...x, 0, ...y, 0, ...z, 0, ...at, 1];

// A wheel around its own axis, with flat sides: fine ones where it touches, from well ahead of the edge to behind the heel, coarse ones
// elsewhere. The edge lies in the middle of a side.
function disc(radius, sides, ahead, behind) {
  const points = [];
  const step = (2 * Math.PI) / sides;
  const far = radius / Math.cos(step / 2);
  const at = (angle) => points.push([far * Math.cos(angle), far * Math.sin(angle)]);
  const [from, to] = [-Math.ceil(behind / step) - 0.5, Math.ceil(ahead / step) + 0.5];
  for (let i = from; i <= to; i++) at(i * step);
  const rest = 2 * Math.PI - (to - from) * step;
  for (let i = 1; i < 24; i++) at(to * step + (i * rest) / 24);
  return points;
}

// The distance from a point to a triangle's nearest corner or side, as far as near ones go.
function distance(p, a, b, c) {
  const toSide = (s, t) => {
    const along = minus(t, s);
    const u = Math.min(1, Math.max(0, dot(minus(p, s), along) / dot(along, along)));
    return length(minus(p, [s[0] + u * along[0], s[1] + u * along[1], s[2] + u * along[2]]));
  };
  return Math.min(toSide(a, b), toSide(b, c), toSide(c, a));
}

// The blank in slices, like a cake's around the middle of the flute, each with as many of the flute's sides. A pose leaves its marks in few
// slices, so each stays small; every wheel is taken from every slice.
function slices(blank, job) {
  const flute = job.section.slice(0, job.flute);
  const middle = [0, 1].map((i) => flute.reduce((sum, p) => sum + p[i], 0) / flute.length);
  middle[0] += 0.02 * (flute.at(-1)[1] - flute[0][1]); // above a flat face
  const far = (p) => [0, 1].map((i) => middle[i] + 1000 * (p[i] - middle[i]));
  const size = (flute.length - 1) / job.slices;
  const list = Array.from({ length: job.slices }, (_, i) =>
    blank.intersect(along([middle, far(flute[(i + 1) * size]), far(flute[i * size])], job)));
  const volume = list.reduce((sum, slice) => sum + slice.volume(), 0);
  if (!(Math.abs(volume / blank.volume() - 1) < 1e-6)) throw new Error(`slices of ${volume} mm³ from a blank of ${blank.volume()} mm³`);
  return list;
}

// A prism along the bar.
const along = (outline, job) => Manifold.extrude(outline, job.behind - job.front, 4).transform(
  frame([0, 1, 0], [0, 0, 1], [1, 0, 0], [job.front, 0, 0]));

// The kernel's memory is its own: what a step made is given back once the next one has used it.
function next(old, make) {
  const made = make(old);
  made.status(); // makes it now
  old.delete();
  return made;
}

// Cuts a body with wheels one after the other: neighbours all but coincide, and to join them first would take minutes. Each is cut in its own
// frame: its long thin sides then lie along the axes, and the kernel, which looks for what may touch by boxes, finds few.
function cut(body, wheels) {
  for (const w of wheels) {
    body = next(body, (b) => b.transform(w.into));
    body = next(body, (b) => b.subtract(w.disc));
    body = next(body, (b) => b.transform(w.back));
  }
  return body.decompose().reduce((a, b) => (a.boundingBox().max[0] - 1e-9 * a.volume() >= b.boundingBox().max[0] - 1e-9 * b.volume() ? a : b));
}

function grind(job) {
  const started = performance.now();
  const blank = along(job.section, job).asOriginal();
  for (const w of job.wheels) {
    const origin = [w.out, w.up, w.axle].map((d) => -dot(d, w.corner));
    w.into = [...[0, 1, 2].flatMap((i) => [w.out[i], w.up[i], w.axle[i], 0]), ...origin, 1];
    w.back = frame(w.out, w.up, w.axle, w.corner);
    w.disc = Manifold.extrude(disc(w.radius, job.sides, 0.15, w.arc), w.width);
  }
  const tools = slices(blank, job).map((slice, i) => {
    const off = (w) => Math.abs(w.place - (2 * i + 1 - job.slices) / job.slices);
    return cut(slice, job.wheels.toSorted((a, b) => off(a) - off(b)));
  });
  const seconds = (performance.now() - started) / 1000;
  const volume = tools.reduce((sum, tool) => sum + tool.volume(), 0);
  const result = { ...measure(tools, blank.originalID(), job), removed: blank.volume() - volume, seconds };
  for (const made of [blank, ...tools, ...job.wheels.map((w) => w.disc)]) made.delete();
  return result;
}

// At every probe the angle between the blank's face and the one its wheel left, nearest to it, and the distance of the edge between them.
function measure(tools, blank, job) {
  const probes = job.probes.map(({ at, wheel }) => ({ at, ids: [blank, job.wheels[wheel].disc.originalID()], of: [{ off: Infinity }, { off: Infinity }] }));
  for (const tool of tools) probe(tool.getMesh(), probes);
  return {
    wedges: probes.map(({ of: [f, g] }) => Math.PI - Math.atan2(length(cross(f.normal, g.normal)), dot(f.normal, g.normal))),
    off: probes.map(({ of: [f, g] }) => Math.max(f.off, g.off)),
  };
}

function probe(mesh, probes) {
  const corner = (t, i) => { const v = mesh.triVerts[3 * t + i] * mesh.numProp; return [...mesh.vertProperties.slice(v, v + 3)]; };
  for (let run = 0; run < mesh.runOriginalID.length; run++) {
    const here = probes.map((p) => ({ at: p.at, face: p.of[p.ids.indexOf(mesh.runOriginalID[run])] })).filter((p) => p.face);
    if (!here.length) continue;
    for (let t = mesh.runIndex[run] / 3; t < mesh.runIndex[run + 1] / 3; t++) {
      const [a, b, c] = [corner(t, 0), corner(t, 1), corner(t, 2)];
      const normal = cross(minus(b, a), minus(c, a));
      const longest = Math.max(length(minus(b, a)), length(minus(c, b)), length(minus(a, c)));
      if (!(length(normal) / longest > 0.001)) continue; // a sliver has no direction
      for (const { at, face } of here) {
        const off = distance(at, a, b, c);
        if (off < face.off) Object.assign(face, { off, normal });
      }
    }
  }
}

// The engine's own mesh, as the kernel takes it.
function taken({ positions, triangles }) {
  const mesh = new Mesh({ numProp: 3, vertProperties: Float32Array.from(positions), triVerts: Uint32Array.from(triangles) });
  const body = new Manifold(mesh);
  return { status: body.status(), volume: body.volume(), pieces: body.decompose().length };
}

const job = JSON.parse(readFileSync(0, 'utf8'));
const report = await validator.validateBytes(Uint8Array.from(Buffer.from(job.gltf, 'base64')));
process.stdout.write(JSON.stringify({
  ...grind(job), ours: taken(job.mesh),
  gltfErrors: report.issues.messages.filter((m) => m.severity <= 1).map((m) => `${m.code} ${m.pointer}: ${m.message}`),
}));
