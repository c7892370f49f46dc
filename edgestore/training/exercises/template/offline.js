"use strict";
// A learner's exercises, marked as marking.py marks them; the class sheet marks the answers anew from the seed.
const data = JSON.parse(document.getElementById("data").textContent);
const at = (id) => document.getElementById(id);
const LETTERS = "ABCDE";
const kept = `edgestore ${data.round} ${data.seed}`;
let here = 0;
let done = Object.fromEntries(data.exercises.map((one) => [one.kind, { hints: 0, answers: [], steps: null }]));

function restore() {
  try {
    const old = JSON.parse(localStorage.getItem(kept)) ?? {};
    for (const kind in done) if (old[kind]) done[kind] = old[kind];
  } catch { /* nothing was kept, or this browser keeps nothing */ }
}

function keep() {
  try { localStorage.setItem(kept, JSON.stringify(done)); } catch { /* the code is on the page all the same */ }
}

// --- reading what was typed

function unitOf(typed) {
  if (typed === "") return "";
  if (Object.hasOwn(data.by_capital, typed)) return data.by_capital[typed];
  return Object.hasOwn(data.units, typed.toLowerCase()) ? data.units[typed.toLowerCase()] : null;
}

// Digits with one decimal mark at most; blanks and apostrophes stand between whole groups of three.
function numberOf(digits) {
  if (/^\d{1,3}([ ']\d{3})+([.,]\d*)?$/.test(digits)) digits = digits.replace(/[ ']/g, "");
  if (/^(\d{1,3}(,\d{3})+\.\d*|\d{1,3}(,\d{3}){2,})$/.test(digits)) digits = digits.replace(/,/g, "");
  if (/^(\d{1,3}(\.\d{3})+,\d*|\d{1,3}(\.\d{3}){2,})$/.test(digits)) digits = digits.replace(/\./g, "");
  const plain = digits.replace(/,/g, ".").replace(/\.+$/, "") || "?";
  return /^\d*\.?\d+$/.test(plain) ? plain : null;
}

// The answers that lie within one unit of the last place asked, half a unit of a small answer: what the marking allows.
function near(plain, { decimals, is_small: isSmall }) {
  const [whole, part = ""] = plain.split(".");
  const lower = BigInt(whole + part.padEnd(decimals, "0").slice(0, decimals) || "0");
  const between = /[1-9]/.test(part.slice(decimals));
  if (isSmall) {
    const beyond = Number(`0.${part.slice(decimals) || "0"}`);
    return [...(beyond <= 0.5 ? [lower] : []), ...(beyond >= 0.5 ? [lower + 1n] : [])].map(String);
  }
  const answers = between ? [lower, lower + 1n] : [lower - 1n, lower, lower + 1n];
  return answers.filter((answer) => answer >= 0n).map(String);
}

// Read an answer: {unread}, {negative}, or {answers, others}; others are those of the other reading of 1.234.
function read(one, typed) {
  const cleaned = typed.normalize("NFKC").replace(/\u2212/g, "-").trim();
  if (!cleaned) return { unread: "Give your answer first." };
  if (cleaned.length > data.longest) return { unread: "That is too long for an answer. Write the result alone." };
  if (one.options.length) return { answers: [cleaned], others: [] };
  const asked = `Write a number, in ${one.unit}.`;
  const found = /^(?:[=≈~]|about|ca\.?)?\s*([+-]?)(\d[\d.,' ]*|[.,]\d+)\s*(.*)$/s.exec(cleaned);
  if (!found) return { unread: `I cannot read a number there. ${asked}` };
  const digits = found[2].trim();
  const plain = numberOf(digits);
  if (plain === null) return { unread: `I cannot read “${digits}” as one number. ${asked}` };
  const unit = unitOf(found[3].replace(/^[ .]+|[ .]+$/g, ""));
  if (unit === null) return { unread: `I can read the number, but not “${found[3].trim()}”. ${asked}` };
  if (unit !== "" && unit !== one.unit) return { unread: `You wrote ${unit}. The answer is asked for in ${one.unit}.` };
  const other = /^(\d{1,3})[.,](\d{3})$/.exec(digits);
  return {
    negative: found[1] === "-",
    answers: near(plain, one),
    others: other ? near(other[1] + other[2], one) : [],
  };
}

// --- opening what is sealed by an answer: PBKDF2 and HMAC, as in sealed.py

async function opened(one, answers) {
  const bytes = (text) => new TextEncoder().encode(text);
  for (const answer of answers) {
    const base = await crypto.subtle.importKey("raw", bytes(answer), "PBKDF2", false, ["deriveBits"]);
    const how = { name: "PBKDF2", hash: "SHA-256", salt: bytes(one.salt), iterations: data.iterations };
    const raw = await crypto.subtle.deriveBits(how, base, 256);
    const key = await crypto.subtle.importKey("raw", raw, { name: "HMAC", hash: "SHA-256" }, false, ["sign"]);
    const told = async (word) => new Uint8Array(await crypto.subtle.sign("HMAC", key, bytes(word)));
    const tag = [...(await told("tag")).slice(0, data.tagBytes)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    const found = one.sealed.find((row) => row[0] === tag);
    if (!found) continue;
    const hidden = Uint8Array.from(found[1].match(/../g), (pair) => parseInt(pair, 16));
    for (let block = 0; block * 32 < hidden.length; block += 1) {
      const stream = await told(String(block));
      for (let n = 0; n < 32 && block * 32 + n < hidden.length; n += 1) hidden[block * 32 + n] ^= stream[n];
    }
    return JSON.parse(new TextDecoder().decode(hidden));
  }
  return null;
}

async function marked(one, typed, hints) {
  const found = read(one, typed);
  if (found.unread || data.isTest) return found.unread ? found : { verdict: "kept" };
  if (!globalThis.crypto?.subtle) return { unread: "This browser cannot check answers in a file. Open it in another." };
  const hint = one.hints[Math.min(hints, one.hints.length - 1)];
  if (found.negative) return { verdict: "wrong", text: `It cannot be below zero. ${hint}` };
  const told = await opened(one, found.answers);
  if (told?.right) return { verdict: "right", text: told.right, steps: told.steps };
  if (!told?.why && (await opened(one, found.others))?.right) {
    return { unread: "Is that mark a decimal mark? Write the number without marks between thousands." };
  }
  if (told) return { verdict: "mistake", text: one.options.length ? `${told.why} ${hint}` : told.why };
  return { verdict: "wrong", text: `Not yet. ${hint}` };
}

// --- the code to hand in, as codes.py reads it

function checksum(text) {
  let sum = 0xffffffff;
  for (const byte of new TextEncoder().encode(text)) {
    sum ^= byte;
    for (let bit = 0; bit < 8; bit += 1) sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
  }
  return ((sum ^ 0xffffffff) >>> 0).toString(16).padStart(8, "0");
}

function resultCode() {
  const tried = Object.entries(done).filter(([, one]) => one.hints || one.answers.length);
  const content = [data.seed, data.round, Object.fromEntries(tried.map(([kind, one]) => [kind, [one.hints, ...one.answers]]))];
  const bytes = new TextEncoder().encode(JSON.stringify(content));
  const base = btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
  const text = `E1.${base.replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "")}`;
  return `(${text}.${checksum(text)})`;
}

// --- the calculator: + - × ÷ and parentheses

function worked(text) {
  const signs = text.replace(/,/g, ".").replace(/[×*xX]/g, "*").replace(/[÷/:]/g, "/").replace(/[−–]/g, "-");
  const parts = signs.match(/\d*\.?\d+|[-+*/()]|\S/g) ?? [];
  let n = 0;
  const atom = () => {
    if (parts[n] === "-") { n += 1; return -atom(); }
    if (parts[n] === "(") {
      n += 1;
      const inner = sum();
      if (parts[n] !== ")") throw new Error();
      n += 1;
      return inner;
    }
    if (!/^\d*\.?\d+$/.test(parts[n] ?? "")) throw new Error();
    n += 1;
    return Number(parts[n - 1]);
  };
  const product = () => {
    let value = atom();
    while (parts[n] === "*" || parts[n] === "/") { n += 1; value = parts[n - 1] === "*" ? value * atom() : value / atom(); }
    return value;
  };
  const sum = () => {
    let value = product();
    while (parts[n] === "+" || parts[n] === "-") { n += 1; value = parts[n - 1] === "+" ? value + product() : value - product(); }
    return value;
  };
  const value = sum();
  if (n < parts.length || !Number.isFinite(value)) throw new Error();
  return String(Number(value.toPrecision(10)));
}

function calculate() {
  try { at("result").textContent = `= ${worked(at("sum").value)}`; } catch { at("result").textContent = "I cannot work that out."; }
}

// --- the page

function element(name, text, more = {}) {
  return Object.assign(document.createElement(name), text === undefined ? {} : { textContent: text }, more);
}

function list(place, title, texts, name) {
  at(place).replaceChildren();
  if (!texts?.length) return;
  const rows = element(name);
  rows.append(...texts.map((text) => element("li", text)));
  at(place).append(element("p", title), rows);
}

function say(text) { at("verdict").replaceChildren(...(text ? [element("p", text)] : [])); }

function isOver(mine) { return data.isTest ? mine.answers.length > 0 : mine.steps !== null; }

function refresh() {
  const one = data.exercises[here];
  const mine = done[one.kind];
  list("hints", "Hints", one.hints.slice(0, mine.hints), "ol");
  list("steps", "How it goes", mine.steps, one.options.length ? "ul" : "ol");
  at("check").disabled = false; // a form whose button is disabled does not hear Enter
  at("check").textContent = isOver(mine) ? "Go on" : data.isTest ? "Keep this answer" : "Check";
  at("hint").hidden = data.isTest;
  at("hint").disabled = isOver(mine) || mine.hints >= one.hints.length;
  [...at("choice").options].forEach((option, n) => {
    const other = data.exercises[n];
    option.textContent = `${n + 1}. ${other.title}${isOver(done[other.kind]) ? " ✓" : ""}`;
  });
  const over = Object.values(done).filter(isOver).length;
  at("about").textContent = `Seed ${data.seed}. Done: ${over} of ${data.exercises.length}.`;
  at("code").value = resultCode();
  keep();
}

function show(n, focus) {
  here = (n + data.exercises.length) % data.exercises.length;
  const one = data.exercises[here];
  at("choice").value = String(here);
  at("title").textContent = `${here + 1}. ${one.title}`;
  at("question").textContent = one.question;
  const last = done[one.kind].answers.at(-1) ?? "";
  if (one.options.length) {
    const field = element("fieldset");
    field.append(element("legend", "Your answer"));
    one.options.forEach((option, letter) => {
      const label = element("label");
      const choice = element("input", undefined, { type: "radio", name: "reply", value: LETTERS[letter] });
      choice.checked = last === LETTERS[letter];
      label.append(choice, element("span", `${LETTERS[letter]}: ${option}`));
      field.append(label);
    });
    at("reply").replaceChildren(field);
  } else {
    const label = element("label", `Your answer, in ${one.unit}`, { htmlFor: "typed" });
    const box = element("input", undefined, { id: "typed", inputMode: "decimal", autocomplete: "off", maxLength: data.longest });
    box.value = last;
    at("reply").replaceChildren(label, box);
  }
  say("");
  refresh();
  if (focus) at("title").focus();
}

function given() {
  return at("typed") ? at("typed").value : document.querySelector("input[name=reply]:checked")?.value ?? "";
}

at("form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const one = data.exercises[here];
  const mine = done[one.kind];
  if (isOver(mine)) { show(here + 1, true); return; }
  if (at("check").disabled) return;
  at("check").disabled = true; // until this answer is marked
  const typed = given();
  const found = await marked(one, typed, mine.hints);
  if (!found.unread && mine.answers.length < data.mostTries) mine.answers.push(typed.trim());
  if (found.steps) mine.steps = found.steps;
  if (data.exercises[here] !== one) { keep(); return; }
  refresh();
  say(found.unread ?? (data.isTest ? "✓ Kept. Enter goes on." : `${found.steps ? "✓ " : ""}${found.text}`));
});
at("hint").addEventListener("click", () => {
  done[data.exercises[here].kind].hints += 1;
  refresh();
});
at("next").addEventListener("click", () => show(here + 1, true));
at("choice").addEventListener("change", () => show(Number(at("choice").value), false));
at("copy").addEventListener("click", async () => {
  at("code").select();
  try {
    await navigator.clipboard.writeText(at("code").value);
    at("copied").textContent = "✓ Copied.";
  } catch { at("copied").textContent = "The code is marked. Copy it by hand."; }
});
at("sum").addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); calculate(); } });
for (const key of ["+", "-", "×", "÷", "(", ")", "="]) {
  const names = { "+": "plus", "-": "minus", "×": "times", "÷": "divided by", "(": "open parenthesis", ")": "close parenthesis", "=": "work it out" };
  const button = element("button", key, { type: "button" });
  button.setAttribute("aria-label", names[key]);
  button.addEventListener("click", () => {
    if (key === "=") { calculate(); return; }
    at("sum").setRangeText(key, at("sum").selectionStart, at("sum").selectionEnd, "end");
    at("sum").focus();
  });
  at("keys").append(button);
}
at("honest").textContent = data.isTest
  ? "This file holds no answers. What you keep is marked when you hand it in. You can answer each question once."
  : "The answers are in this file, but hidden. That stops a look, not a program that tries all numbers. It is for practice.";
data.exercises.forEach((one, n) => at("choice").append(element("option", one.title, { value: String(n) })));
restore();
const first = data.exercises.findIndex((one) => !isOver(done[one.kind]));
show(Math.max(first, 0), false);
