// Serves dist/ under /kiosk/ for development, under the policy that a server would send, and passes /v1 on to a running arrisd.
//   ARRIS_API=http://127.0.0.1:8480 PORT=8490 node dev.mjs
import { createReadStream, existsSync, statSync } from 'node:fs'
import { createServer, request } from 'node:http'
import { dirname, extname, join, normalize } from 'node:path'
import { fileURLToPath } from 'node:url'

const dist = join(dirname(fileURLToPath(import.meta.url)), 'dist')
const api = new URL(process.env.ARRIS_API ?? 'http://127.0.0.1:8480')
const port = Number(process.env.PORT ?? 8490)

const types = {
  '.html': 'text/html; charset=utf-8', '.js': 'text/javascript; charset=utf-8', '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml', '.png': 'image/png', '.woff2': 'font/woff2', '.webmanifest': 'application/manifest+json', '.txt': 'text/plain', '.wasm': 'application/wasm',
}
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; font-src 'self'; img-src 'self' blob:; media-src 'self' blob:; " +
  "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

createServer((req, res) => {
  const path = decodeURIComponent(new URL(req.url, 'http://x').pathname)
  if (path.startsWith('/v1')) return pass(req, res)
  if (!path.startsWith('/kiosk/')) return res.writeHead(302, { Location: '/kiosk/' }).end()
  const file = normalize(join(dist, path.slice('/kiosk/'.length) || 'index.html'))
  if (!file.startsWith(dist) || !existsSync(file) || statSync(file).isDirectory()) return res.writeHead(404).end('no such file')
  res.writeHead(200, { 'Content-Type': types[extname(file)] ?? 'application/octet-stream', 'Content-Security-Policy': policy, 'X-Content-Type-Options': 'nosniff' })
  createReadStream(file).pipe(res)
}).listen(port, '127.0.0.1', () => console.log(`http://127.0.0.1:${port}/kiosk/ with the API of ${api}`))

function pass(req, res) {
  const on = request({ host: api.hostname, port: api.port, path: req.url, method: req.method, headers: { ...req.headers, host: api.host } }, (answer) => {
    res.writeHead(answer.statusCode, answer.headers)
    answer.pipe(res)
  })
  on.on('error', () => res.writeHead(502).end())
  req.pipe(on)
}
