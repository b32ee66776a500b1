// A bench page for one story: a teardown of its own, served by the program under test, and ended with it.
import { spawn } from 'node:child_process'
import { appendFileSync, cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'

export const program = process.env.UNPICK
const top = new URL('../../', import.meta.url).pathname

/* A folder that goes away with the run; notes: its lines. */
const base = mkdtempSync(join(tmpdir(), 'unpick-page-'))
const running = new Set() // programs of stories that ended early
process.on('exit', () => {
  for (const child of running) child.kill('SIGKILL')
  rmSync(base, { recursive: true, force: true })
})
let made = 0
export function teardown(notes = []) {
  const folder = join(base, String(++made))
  mkdirSync(join(folder, 'photos'), { recursive: true })
  writeFileSync(join(folder, 'notes.txt'), notes.map(note => `${note}\n`).join(''))
  return {
    folder,
    notes: () => readFileSync(join(folder, 'notes.txt'), 'utf8'),
    editor: lines => appendFileSync(join(folder, 'notes.txt'), lines),
  }
}

/* traced: another bench of the demo, which has traced its board already; that takes long under sanitizers. */
export function demo(traced) {
  const bench = teardown()
  const isCopper = path => path.endsWith('derived') || basename(path).startsWith('copper-')
  if (traced) cpSync(join(traced.folder, 'derived'), join(bench.folder, 'derived'), { recursive: true, filter: isCopper })
  cpSync(join(top, 'demo/dispenser/notes.txt'), join(bench.folder, 'notes.txt'))
  cpSync(join(top, 'demo/dispenser/photos/a-bottom.jpg'), join(bench.folder, 'photos/a-bottom.jpg'))
  return bench
}

/* Serves a folder (or none, in `cwd`): its address, by a name that the browser can find; kill() as a power cut would. */
export async function serve(folder, { cwd = base, options = [] } = {}) {
  const child = spawn(program, ['page', ...(folder ? [folder] : []), ...options], { cwd, stdio: ['ignore', 'pipe', 'pipe'] })
  running.add(child)
  child.on('exit', () => running.delete(child))
  let said = ''
  const url = await new Promise((resolve, reject) => {
    child.stdout.on('data', bytes => {
      said += bytes
      const found = /Open in a browser: (\S+)/.exec(said)
      if (found && said.includes('Ctrl+C')) resolve(found[1].replace('127.0.0.1', 'localhost'))
    })
    child.stderr.on('data', bytes => { said += bytes })
    child.on('exit', () => reject(new Error(`it ended: ${said}`)))
  })
  const ended = new Promise(resolve => child.on('exit', resolve))
  const end = async signal => {
    child.kill(signal)
    const status = await ended
    if (/Sanitizer|runtime error:/.test(said)) throw new Error(said) // a build that watches itself had something to say
    return status
  }
  return {
    url,
    origin: new URL(url).origin,
    said: () => said,
    pid: child.pid,
    kill: () => end('SIGKILL'),
    stop: () => end('SIGTERM'),
  }
}
