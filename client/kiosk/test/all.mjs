// Runs the page's tests one after the other, or those that are named: node test/all.mjs day axe. They want a server with a fresh demonstration
// shop at ARRIS_URL, which puts codes on its sheets (--public-url https://grinding.example.org); the exit code is 1 when one of them fails.
const names = process.argv.slice(2).length > 0 ? process.argv.slice(2) : ['words', 'numbers', 'figures', 'worked', 'axe', 'hostile', 'codes', 'camera', 'keyboard', 'care', 'see', 'memory', 'quick', 'fits', 'day', 'offline']

for (const name of names) {
  const start = Date.now()
  try {
    await (await import(`./${name}.mjs`)).default()
    console.log(`ok   ${name} (${((Date.now() - start) / 1000).toFixed(1)} s)`)
  } catch (e) {
    console.log(`FAIL ${name}: ${e?.stack ?? e}`)
    process.exitCode = 1
  }
}
process.exit() // whatever somebody left open
