// No page has a formula. Voila would load a whole typesetter of formulas (0.9 MB) before it shows a panel, to ask it
// for nothing; this stands in its place, and does that.
globalThis.MathJax = { Hub: { Config() {}, Configured() {}, Queue() {}, Register: { StartupHook() {} } }, Ajax: {} };
