// Shows one thing a screen: choices, steps, checks, settings, the record. Keeps ticks and place on the phone. Own code,
// no timers, nothing outside. What is shown is put in as text, never as HTML.
"use strict";
const DATA = JSON.parse(document.getElementById("data").textContent);
const W = DATA.words;
const STORE = "edgestore " + DATA.id;
const LONGEST = 100;
const FRESH = () => ({ at: "start", work: null, slot: DATA.preset.slot, facing: DATA.preset.facing, ticks: {}, wrong: {}, fields: {}, dark: false });
let state = FRESH();
let stored = true;
let sure = false;
let writing = false;

try {
  const kept = JSON.parse(localStorage.getItem(STORE) || "null");
  if (kept) state = { ...state, ...kept };
} catch (refused) { stored = false; }

function keep() {
  try { localStorage.setItem(STORE, JSON.stringify(state)); stored = true; } catch (refused) { stored = false; }
}

const say = (form, values = {}) => Object.entries(values).reduce((text, [key, value]) => text.replace(`{${key}}`, () => value), form);
const two = (number) => String(number).padStart(2, "0");
function now() {
  const t = new Date();
  return `${t.getFullYear()}-${two(t.getMonth() + 1)}-${two(t.getDate())} ${two(t.getHours())}:${two(t.getMinutes())}`;
}

// Screens ------------------------------------------------------------------------------------------------------------
const wayOf = (slot, facing) => DATA.ways[[state.work, slot, facing].join("|")];
const known = (word, all) => all.some((one) => one.key === word);

function steps() {
  const slot = known(state.slot, DATA.slots) ? state.slot : DATA.slots[0].key;
  const facing = known(state.facing, DATA.facings) ? state.facing : DATA.facings[0].key;
  const all = wayOf(slot, facing).map((number, at, way) => ({
    id: `step ${number}`, kind: "step", n: at + 1, all: way.length, step: DATA.steps[number],
  }));
  const reach = DATA.reach[state.work];
  return [all.slice(0, reach), all.slice(reach)];
}

function checks() {
  if (state.work === "remove") return [];
  const done = steps().flat().map((screen) => screen.step.check);
  return DATA.checks.filter((check) => !done.includes(check.key) && !(check.key === "mode" && DATA.settings.length));
}

function screens() {
  const list = [{ id: "start", kind: "start" }];
  if (DATA.planned && !DATA.planned.bring) return list;
  list.push({ id: "work", kind: "work" });
  if (!state.work) return list;
  const ask = [];
  if (!DATA.preset.slot) ask.push("slot");
  if (!DATA.preset.facing) ask.push("facing");
  const [before, after] = steps();
  const asked = ask.filter((what) => what === "slot" || state.slot !== "later").map((what) => ({ id: what, kind: what }));
  list.push(...asked, { id: "take", kind: "take" }, ...before);
  const open = ask.filter((what) => state[what] === "later" || state[`${what}_late`] || (what === "facing" && state.slot_late));
  list.push(...open.map((what) => ({ id: `${what} late`, kind: what, late: true })));
  if (state.slot === "later" || state.facing === "later") return list;
  list.push(...after);
  checks().forEach((check, at, all) => list.push({ id: `check ${check.key}`, kind: "check", n: at + 1, all: all.length, check }));
  if (state.work !== "remove") {
    DATA.settings.forEach((setting, at, all) =>
      list.push({ id: `set ${setting.key}`, kind: "setting", n: at + 1, all: all.length, setting }));
  }
  if (state.work !== "remove" || !DATA.planned) list.push({ id: "what", kind: "what" });
  if (state.work !== "fit") list.push({ id: "removed", kind: "removed" }, { id: "old day", kind: "old_day" });
  list.push({ id: "record", kind: "record" });
  return list;
}

const here = () => { const list = screens(); return list.find((screen) => screen.id === state.at) || list[0]; };

function go(by) {
  const list = screens();
  const at = Math.max(0, list.findIndex((screen) => screen.id === state.at));
  state.at = list[Math.min(list.length - 1, Math.max(0, at + by))].id;
  writing = false;
  show();
}

// Elements -----------------------------------------------------------------------------------------------------------
function make(tag, words = "", more = {}) {
  const element = document.createElement(tag);
  element.textContent = words;
  for (const [name, value] of Object.entries(more)) element.setAttribute(name, value);
  return element;
}

function button(words, press, look = "") {
  const made = make("button", words, { type: "button", class: look });
  made.addEventListener("click", press);
  return made;
}

function image(key) {
  const picture = DATA.pictures[key];
  return make("img", "", { src: "data:image/svg+xml;charset=utf-8," + encodeURIComponent(picture.svg), alt: picture.alt });
}

function figure(key) {
  const made = make("figure");
  made.append(image(key), make("figcaption", DATA.pictures[key].title));
  return made;
}

function items(title, texts) {
  const list = make("ul");
  list.append(...texts.map((text) => make("li", text)));
  return [make("h2", title), list];
}

const warnings = (cautions) => cautions.map((caution) => {
  const made = make("p", "", { class: "warning" });
  made.append(make("strong", say(W.warning, { title: caution.title })), ` ${caution.text}`);
  return made;
});

const plain = (text) => text.replace(/[\p{C}]/gu, " ").trim().slice(0, LONGEST);

function field(key, label, { words = null, decimal = false, value = state.fields[key] || "", put } = {}) {
  const name = make("label", label, { for: `field ${key}` });
  const input = make(words ? "select" : "input", "", { id: `field ${key}`, autocomplete: "off" });
  if (words) input.append(make("option", ""), ...words.map((word) => make("option", word)));
  if (decimal) input.setAttribute("inputmode", "decimal");
  input.value = value;
  input.addEventListener("input", () => { (put || ((text) => { state.fields[key] = text; }))(plain(input.value)); keep(); });
  return [name, input];
}

function picks(all, press) {
  const grid = make("div", "", { class: "pictures", style: `grid-template-columns: repeat(${all.length}, 1fr)` });
  grid.append(...all.map((one) => {
    const made = button("", () => press(one.key), "pick");
    made.append(Object.assign(image(one.picture), { alt: "" }), one.label);
    return made;
  }));
  return [grid];
}

// What each kind of screen shows: its title, what is read, what is tapped, and the bar ---------------------------------
const back = () => button(W.back, () => go(-1));
const main = (words, press) => button(words, press, "main");

const SCREENS = {
  start() {
    const planned = DATA.planned;
    const shown = [];
    if (planned) {
      shown.push(make("p", [planned.camera, planned.place].filter(Boolean).join(", "), { class: "text" }));
      shown.push(make("h2", W.card_to_bring), make("p", planned.bring ? say(W.bring, { count: planned.bring, card: planned.says }) : W.bring_none, { class: "value" }));
      if (!planned.bring) shown.push(make("h2", W.stop), make("p", `${planned.why_none} ${W.stop_text}`, { class: "text" }));
    }
    shown.push(make("p", `${DATA.title}. ${DATA.looks}`), make("p", DATA.typical, { class: "rule" }));
    const shade = button(state.dark ? W.light : W.dark, () => { state.dark = !state.dark; show(); });
    const bar = planned && !planned.bring ? [shade] : [shade, main(W.begin, () => go(1))];
    return { title: W.title, shown, bar };
  },
  work() {
    const press = (work) => () => { state.work = work; go(1); };
    const reach = Object.entries(DATA.works).map(([work, told]) => button(told.title, press(work), "wide"));
    return { title: W.which_work, shown: [], reach, bar: [back()] };
  },
  slot(screen) {
    const press = (slot) => { state.slot = slot; if (screen.late) state.slot_late = true; go(1); };
    const shown = screen.late ? [] : [make("p", W.later_text)];
    for (const slot of DATA.slots) shown.push(make("h2", slot.label), make("p", slot.looks));
    const later = button(W.later, () => { state.slot = state.facing = "later"; if (DATA.preset.facing) state.facing = DATA.preset.facing; go(1); });
    return { title: W.which_slot, shown, reach: picks(DATA.slots, press), bar: screen.late ? [back()] : [back(), later] };
  },
  facing(screen) {
    const press = (facing) => { state.facing = facing; if (screen.late) state.facing_late = true; go(1); };
    const shown = screen.late ? [] : [make("p", W.later_text)];
    const large = make("div", "", { class: "large" });
    large.append(...DATA.facings.map((one) => figure(one.picture)));
    shown.push(large);
    const later = button(W.any_facing, () => { state.facing = "later"; go(1); });
    return { title: W.which_facing, shown, reach: picks(DATA.facings, press), bar: screen.late ? [back()] : [back(), later] };
  },
  take() {
    const told = DATA.works[state.work];
    const card = DATA.planned && state.work !== "remove" ? [make("p", say(W.bring, { count: 1, card: DATA.planned.says }), { class: "value" })] : [];
    return { title: W.before, shown: [...card, ...items(W.take, told.tools), ...items(W.never, told.never)], bar: [back(), main(W.go_on, () => go(1))] };
  },
  step(screen) {
    const { step, id } = screen;
    const shown = [...warnings(step.cautions), ...step.parts.map((part) => make("p", part, { class: "text" })), ...step.pictures.map(figure)];
    const reach = step.asks.flatMap((key) => field(key, W[key]));
    return { where: step.section, title: say(W.step, { n: screen.n, all: screen.all }), shown, reach, bar: ticking(id, W.done) };
  },
  check(screen) {
    const { check, id } = screen;
    const shown = [...warnings(check.cautions), make("p", check.text, { class: "text" })];
    if (state.wrong[id]) shown.push(make("p", W.failed_text, { class: "rule" }));
    return { where: say(W.check, { n: screen.n, all: screen.all }), title: check.title, shown, ...finding(id, {}, W.done, W.not_right) };
  },
  setting(screen) {
    const { setting, id } = screen;
    const shown = [make("p", W.settings_word), make("p", setting.value, { class: "value" }), make("p", W.as_is)];
    const how = { words: setting.words.length ? setting.words : setting.column === "deletes_by_age" ? ["yes", "no"] : null, decimal: /_s$/.test(setting.column) };
    return { where: say(W.setting, { n: screen.n, all: screen.all }), title: setting.what, shown, ...finding(id, how, W.set_it, W.otherwise) };
  },
  what() {
    if (DATA.planned && !state.fields.card) state.fields.card = DATA.planned.card;
    const reach = DATA.planned ? [] : field("camera", W.camera_name);
    if (state.work !== "remove") reach.push(...field("card", W.card_name));
    return { title: state.work === "remove" ? W.camera_name : W.who, shown: [], reach, bar: [back(), main(W.next, () => go(1))] };
  },
  removed() {
    if (DATA.planned && state.fields.old_card === undefined) {
      const { in_service, fitted, serial } = DATA.planned;
      Object.assign(state.fields, { old_card: in_service, old_fitted: fitted, old_serial: state.fields.old_serial || serial });
    }
    const reach = [...field("old_card", W.old_card), ...field("why", W.why, { words: DATA.whys })];
    return { title: W.removed_card, shown: [], reach, bar: [back(), main(W.next, () => go(1))] };
  },
  old_day() {
    return { title: W.removed_card, shown: [], reach: field("old_fitted", W.old_fitted), bar: [back(), main(W.next, () => go(1))] };
  },
  record() {
    const shown = [make("p", W.record_text)];
    const open = unticked();
    shown.push(...(open.length ? items(W.open_list, open) : [make("p", W.all_ticked, { class: "tick" })]));
    const found = foundOtherwise();
    shown.push(...(found.length ? items(W.found_list, found) : [make("p", W.nothing_found)]));
    for (const [title, text, notes] of [[W.log_rows, logText(), logNotes()], [W.camera_row, cameraText(), []]]) {
      shown.push(make("h2", title), Object.assign(make("textarea", text, { readonly: "", "aria-label": title }), { value: text }));
      shown.push(...notes.map((note) => make("p", note, { class: "rule" })));
    }
    const anew = button(sure ? W.anew_sure : W.anew, () => {
      if (!sure) { sure = true; return show(false); }
      sure = false;
      state = { ...FRESH(), dark: state.dark };
      show();
    }, "wide low");
    const shade = button(state.dark ? W.light : W.dark, () => { state.dark = !state.dark; show(false); }, "wide low");
    const bar = [back(), button(W.copy, copy), main(W.print, () => window.print())];
    if (navigator.share) bar.splice(2, 0, button(W.share, () => navigator.share({ text: recordText() }).catch(() => {})));
    return { title: W.record, shown, reach: [anew, shade], bar };
  },
};

function ticking(id, words) {
  if (!state.ticks[id]) return [back(), main(words, () => { state.ticks[id] = now(); go(1); })];
  return [back(), button(W.untick, () => { delete state.ticks[id]; show(); }), main(W.next, () => go(1))];
}

/** The bar and the field of what may be found otherwise than it should be. */
function finding(id, how, right, wrong) {
  if (writing) {
    const put = (text) => { state.wrong[id] = text; };
    const save = main(W.save, () => { if (!state.wrong[id]) state.wrong[id] = "?"; delete state.ticks[id]; go(1); });
    return { reach: field(id, W.found, { ...how, value: state.wrong[id] || "", put }), bar: [button(W.back, () => { writing = false; show(); }), save] };
  }
  const other = button(wrong, () => { writing = true; show(); });
  if (state.ticks[id] || state.wrong[id]) {
    const clear = button(W.untick, () => { delete state.ticks[id]; delete state.wrong[id]; show(); });
    return { reach: state.wrong[id] ? [make("p", `${W.otherwise}: ${state.wrong[id]}`, { class: "tick" })] : [], bar: [back(), clear, main(W.next, () => go(1))] };
  }
  return { reach: [], bar: [back(), other, main(right, () => { state.ticks[id] = now(); go(1); })] };
}

// The record ---------------------------------------------------------------------------------------------------------
const ticked = () => screens().filter((screen) => ["step", "check", "setting"].includes(screen.kind));
const nameOf = (screen) => screen.kind === "step" ? `${say(W.step, { n: screen.n, all: screen.all })}: ${screen.step.parts.join(" ").split(". ")[0].replace(/\.$/, "")}`
  : screen.kind === "check" ? screen.check.title : `${screen.setting.what}: ${screen.setting.value}`;
const unticked = () => [...ticked().filter((screen) => !state.ticks[screen.id] && !state.wrong[screen.id]).map(nameOf), ...unsaid()];
const unsaid = () => [["serial", "remove"], ["why", "fit"]].filter(([key, work]) => state.work !== work && !state.fields[key]).map(([key]) => W[key]);
const foundOtherwise = () => ticked().filter((screen) => state.wrong[screen.id]).map((screen) => `${nameOf(screen)}: ${state.wrong[screen.id]}`);
const labelOf = (all, key) => (all.find((one) => one.key === key) || {}).label;
const cameraName = () => (DATA.planned ? DATA.planned.camera : state.fields.camera || "");

function workDay() {
  const seated = ticked().find((screen) => screen.kind === "step" && screen.step.check === "photographed");
  return ((seated && state.ticks[seated.id]) || now()).slice(0, 10);
}

/** A cell of a CSV file; a formula is made a text by an apostrophe. */
function cell(value) {
  const text = String(value ?? "").replace(/^\s*[=+\-@]/, (start) => (/^-?\d/.test(value) ? start : `'${start}`));
  return /[",;\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
}

const csv = (columns, rows) => [columns.join(","), ...rows.map((row) => columns.map((name) => cell(row[name])).join(","))].join("\n") + "\n";

const isOldKnown = () => state.work !== "fit" && Boolean(state.fields.old_fitted && state.fields.old_card && state.fields.why);

function logText() {
  const rows = [];
  const f = state.fields;
  if (isOldKnown()) rows.push({ camera: cameraName(), card: f.old_card, fitted: f.old_fitted, removed: workDay(), why: f.why, serial: f.old_serial });
  if (state.work !== "remove") rows.push({ camera: cameraName(), card: f.card, fitted: workDay(), serial: f.serial });
  return rows.length ? csv(DATA.log_columns, rows) : "";
}

/** What is to be done by hand in the log, where the row of the old card cannot be written: words, never among the rows. */
const logNotes = () => (state.work === "fit" || isOldKnown() ? [] : [say(W.no_log, { day: workDay(), why: state.fields.why || "?" })]);

function cameraText() {
  const row = { ...DATA.row, camera: cameraName() };
  for (const setting of DATA.settings) {
    const found = state.wrong[`set ${setting.key}`];
    if (!found || !setting.column) continue;
    const number = found.replace(",", ".").replace(/\s*(Mbit\/s|s)$/, "");
    if (/^\d+(\.\d+)?$/.test(number)) row[setting.column] = number;
    else if (["yes", "no", ...setting.words].includes(found)) row[setting.column] = found;
  }
  if (row.recording === "continuous") for (const name of ["events_per_h", "event_s", "pre_roll_s", "post_roll_s", "event_log"]) delete row[name];
  return csv(DATA.camera_columns.filter((name) => row[name] !== undefined && row[name] !== ""), [row]);
}

function fieldsOf() {
  const f = state.fields;
  const way = [DATA.works[state.work].title, DATA.title, labelOf(DATA.slots, state.slot), labelOf(DATA.facings, state.facing)].filter(Boolean).join(", ");
  return [[W.camera, cameraName()], [W.place, DATA.planned ? DATA.planned.place : ""], [W.housing, way], [W.fitted_on, workDay()],
    ...(state.work === "remove" ? [] : [[W.card_name, f.card], [W.serial, f.serial]]),
    ...(state.work === "fit" ? [] : [[W.old_card, f.old_card], [W.old_serial, f.old_serial], [W.why, f.why]])].map(([name, text]) => [name, text || ""]);
}

function recordText() {
  const lines = fieldsOf().map(([name, text]) => `${name}: ${text}`);
  const done = ticked().map((screen) => `${state.wrong[screen.id] ? "!" : state.ticks[screen.id] ? "x" : "-"} ${nameOf(screen)} ${state.wrong[screen.id] || state.ticks[screen.id] || ""}`.trim());
  return [...lines, "", ...done, "", `${W.log_rows}:`, logText(), ...logNotes(), `${W.camera_row}:`, cameraText()].join("\n");
}

function told(words) { document.getElementById("told").textContent = words; }

function copy() {
  const text = recordText();
  const byHand = () => {
    const area = Object.assign(make("textarea", text), { value: text });
    document.body.append(area);
    area.select();
    let done = false;
    try { done = document.execCommand("copy"); } catch (refused) { done = false; }
    area.remove();
    told(done ? W.copied : W.not_copied);
  };
  if (navigator.clipboard) navigator.clipboard.writeText(text).then(() => told(W.copied), byHand);
  else byHand();
}

function table(look, rows) {
  const made = make("table", "", { class: look });
  made.append(...rows.map((cells) => { const row = make("tr"); row.append(...cells); return row; }));
  return made;
}

function paper() {
  if (here().kind !== "record") return [];
  const marks = ticked().map((screen) => [
    make("td", state.wrong[screen.id] ? "\u2612" : state.ticks[screen.id] ? "\u2611" : "\u2610"),
    make("td", nameOf(screen)),
    make("td", state.wrong[screen.id] ? `${W.otherwise}: ${state.wrong[screen.id]}` : state.ticks[screen.id] || ""),
  ]);
  const signed = state.work === "fit" ? [W.signature] : [W.signature, W.offset, W.key, W.receiver];
  return [
    make("h1", `${DATA.works[state.work].title}: ${W.record}`), make("p", DATA.typical),
    table("fields", fieldsOf().map(([name, text]) => [make("th", name, { scope: "row" }), make("td", text)])),
    make("h2", W.what), table("marks", marks), make("h2", W.found_list),
    ...(foundOtherwise().length ? foundOtherwise() : [W.nothing_found]).map((text) => make("p", text)),
    table("fields line", signed.map((name) => [make("th", name, { scope: "row" }), make("td", "")])),
  ];
}

// Show ---------------------------------------------------------------------------------------------------------------
function show(fresh = true) {
  const screen = here();
  state.at = screen.id;
  if (screen.kind !== "record") sure = false;
  const made = SCREENS[screen.kind](screen);
  keep();
  document.body.classList.toggle("dark", state.dark);
  told(stored ? "" : W.no_store);
  document.getElementById("where").textContent = [DATA.planned ? DATA.planned.camera : DATA.title, made.where].filter(Boolean).join(": ");
  const done = state.ticks[screen.id] ? [make("p", say(W.done_at, { time: state.ticks[screen.id] }), { class: "tick" })] : [];
  const title = make("h1", made.title, { tabindex: "-1" });
  document.getElementById("shown").replaceChildren(title, ...done, ...made.shown);
  document.getElementById("reach").replaceChildren(...(made.reach || []));
  document.getElementById("bar").replaceChildren(...made.bar);
  document.getElementById("paper").replaceChildren(...paper());
  if (fresh) { document.getElementById("shown").scrollTop = 0; title.focus({ preventScroll: true }); }
  mark();
}

// What is out of sight is announced: a caution below the edge is else not seen.
const shownBox = document.getElementById("shown");
const moreBelow = document.getElementById("more");
function mark() { moreBelow.hidden = shownBox.scrollHeight - shownBox.clientHeight - shownBox.scrollTop < 12; }
shownBox.addEventListener("scroll", mark);
shownBox.addEventListener("load", mark, true);
window.addEventListener("resize", mark);

document.addEventListener("keydown", (event) => {
  if (event.target.matches("input, select, textarea") || event.altKey || event.ctrlKey || event.metaKey) return;
  if (event.key === "ArrowLeft") go(-1);
  if (event.key === "ArrowRight" && ["step", "check", "setting", "take", "what", "removed", "old_day"].includes(here().kind)) go(1);
});

show();
