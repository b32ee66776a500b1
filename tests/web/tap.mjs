// Test results as lines of TAP: await check(name, async () => ...) passes unless it throws; done() ends with the plan. ONLY: a regular
// expression, for whoever works on some of the tests.
const only = new RegExp(process.env.ONLY ?? '')
let count = 0
let failed = 0

export async function check(name, test) {
  if (!only.test(name)) return
  count++
  try {
    await test()
    console.log(`ok ${count} - ${name}`)
  } catch (error) {
    failed++
    console.log(`not ok ${count} - ${name}`)
    for (const line of String(error?.message ?? error).split('\n').slice(0, 40)) console.log(`# ${line}`)
  }
}

export function done() {
  console.log(`1..${count}`)
  process.exitCode = failed > 0 ? 1 : 0
}

/* Throws unless the list is empty, saying what is in it. */
export function none(list, what) {
  if (list.length > 0) throw new Error(`${what}:\n${list.slice(0, 20).join('\n')}`)
}
