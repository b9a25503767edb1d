// What stands around temml: one function that takes a formula and gives JSON. Work is counted by
// the tokens read, the pieces put into lists and the replacements made, so that the same formula
// comes to the same end on every machine, however fast.
globalThis.typeset = (function () {
  let left = 0
  const spend = (n) => {
    left -= n
    if (left < 0) { throw new RangeError("steps") }
  }
  const count = (owner, name, cost) => {
    const original = owner[name]
    owner[name] = function (...args) {
      spend(cost(this, args))
      return original.apply(this, args)
    }
  }
  count(Array.prototype, "push", (list, args) => args.length)
  count(Array.prototype, "concat", (list) => list.length)
  count(Array.prototype, "slice", (list) => list.length)
  count(Array.prototype, "splice", (list) => list.length)
  count(Array.prototype, "shift", (list) => list.length)
  count(Array.prototype, "unshift", (list) => list.length)
  count(Array.prototype, "reverse", (list) => list.length)
  count(RegExp.prototype, "exec", () => 1)
  count(RegExp.prototype, "test", () => 1)
  count(String.prototype, "replace", () => 1)

  return function (source, display, steps) {
    left = steps
    try {
      const markup = temml.renderToString(source, {
        displayMode: display, throwOnError: true, strict: false, trust: false, wrap: "none",
        annotate: false, xml: false, maxExpand: 1000, maxSize: [20, 20]
      })
      return JSON.stringify({ markup, used: steps - left })
    } catch (e) {
      if (e instanceof temml.ParseError) {
        return JSON.stringify({ said: e.message, at: e.position === undefined ? -1 : e.position, used: steps - left })
      }
      return JSON.stringify({ fault: String(e && e.message), used: steps - left })
    } finally {
      left = Infinity
    }
  }
})()
