// The tables of the panels: a heading sorts the rows by its column, and a row opens what explains it. Both stay so when
// the next answer puts another table in place. It reads the words that stand there, and knows no answers.

const BLANKS = /(\d)[\u00a0\u2009\u202f](?=\d{3}(?!\d))/g;
const FIGURE = /^(more than|less than|[<>])?\s*([+\-\u2212]?\d+(?:\.\d+)?(?:e[+-]?\d+)?)(?![\d.:\/-])/i;
const BEYOND = { "more than": 1, ">": 1, "less than": -1, "<": -1 };
const MISSING = new Set(["", "none", "nan", "-", "\u2013", "\u2014"]);
const NEVER = new Set(["never", "inf"]);
const WORDS = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

// What a cell sorts by: a number and whether it is beyond or short of that, or null where it is no figure.
function figure(text) {
  if (NEVER.has(text.toLowerCase())) return [Infinity, 0];
  const found = text.replace(BLANKS, "$1").match(FIGURE);
  const sign = /\d less$/.test(text) ? -1 : 1; // of a difference
  return found && [sign * Number(found[2].replace("\u2212", "-")), BEYOND[found[1]?.toLowerCase()] ?? 0];
}

// The order of the rows of a column, by their place; what is missing is last whichever way it goes.
function order(texts, isDescending) {
  const cells = texts.map((text, at) => ({ at, text, isMissing: MISSING.has(text.toLowerCase()), figure: figure(text) }));
  const isOfFigures = cells.every((cell) => cell.isMissing || cell.figure);
  const compared = (a, b) => {
    if (!isOfFigures) return WORDS.compare(a.text, b.text);
    const [[one, beyondOne], [other, beyondOther]] = [a.figure, b.figure];
    return one === other ? beyondOne - beyondOther : one - other;
  };
  const way = isDescending ? -1 : 1;
  cells.sort((a, b) => a.isMissing - b.isMissing || (a.isMissing ? 0 : way * compared(a, b)) || a.at - b.at);
  return cells.map((cell) => cell.at);
}

const TURN = { none: "ascending", ascending: "descending", descending: "none" };
const kept = new WeakMap(); // by the place of a table, how it is sorted and which rows are open
let ids = 0;

const said = (cell) => cell.textContent.trim();

function keptOf(table) {
  const place = table.closest(".edgestore-table") ?? table.parentElement;
  if (!kept.has(place)) kept.set(place, { heading: null, way: "none", open: new Set() });
  return kept.get(place);
}

function button(cell, name) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = name;
  made.append(...cell.childNodes);
  cell.append(made);
  return made;
}

function belowOf(row) {
  const below = row.nextElementSibling;
  return below?.matches(".edgestore-why") ? below : null;
}

function show(row, isOpen) {
  const below = belowOf(row);
  below.hidden = !isOpen;
  below.querySelector("details").open = isOpen;
  row.querySelector(".edgestore-row").setAttribute("aria-expanded", String(isOpen));
}

function sort(table) {
  const { heading, way } = keptOf(table);
  const body = table.tBodies[0];
  const rows = [...body.rows].filter((row) => !row.matches(".edgestore-why"));
  rows.sort((a, b) => a.dataset.at - b.dataset.at);
  let column = -1;
  [...table.tHead.rows[0].cells].forEach((cell, at) => {
    const isSorted = way !== "none" && said(cell) === heading;
    cell.setAttribute("aria-sort", isSorted ? way : "none");
    if (isSorted) column = at;
  });
  const places = column < 0 ? rows.map((_, at) => at) : order(rows.map((row) => said(row.cells[column])), way === "descending");
  const pairs = rows.map((row) => [row, belowOf(row)]);
  body.append(...places.flatMap((at) => pairs[at].filter(Boolean)));
}

function dress(table) {
  table.dataset.dressed = "";
  const { open } = keptOf(table);
  for (const cell of table.tHead.rows[0].cells) button(cell, "edgestore-sort");
  [...table.tBodies[0].rows].filter((row) => !row.matches(".edgestore-why")).forEach((row, at) => {
    row.dataset.at = at;
    const below = belowOf(row);
    if (!below) return;
    below.id = `edgestore-why-${(ids += 1)}`;
    button(row.cells[0], "edgestore-row").setAttribute("aria-controls", below.id);
    show(row, open.has(said(row.cells[0])));
  });
  sort(table);
}

document.addEventListener("click", (event) => {
  const table = event.target.closest?.("table.edgestore-rows[data-dressed]");
  if (!table) return;
  const state = keptOf(table);
  const head = event.target.closest("th");
  if (head) {
    const isSame = said(head) === state.heading;
    state.way = TURN[isSame ? state.way : "none"];
    state.heading = said(head);
    sort(table);
    return;
  }
  const row = event.target.closest("tr");
  const isMarking = !event.target.closest("button") && String(getSelection()) !== "";
  if (isMarking || !row.querySelector(".edgestore-row")) return;
  const name = said(row.cells[0]);
  const isOpen = belowOf(row).hidden;
  show(row, isOpen);
  if (isOpen) state.open.add(name);
  else state.open.delete(name);
});

function look() {
  document.querySelectorAll("table.edgestore-rows:not([data-dressed])").forEach(dress);
}

look();
new MutationObserver(look).observe(document.body, { subtree: true, childList: true });
