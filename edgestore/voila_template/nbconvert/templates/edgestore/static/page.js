// What the widgets lack for people who use a keyboard or a screen reader. It reads and marks the page, and presses its
// buttons for keys; it knows no answers.

function set(element, attribute, text) {
  if (text && element.getAttribute(attribute) !== text) element.setAttribute(attribute, text);
}

// What is refused is so for a screen reader too, which is told why; and what a control may hold.
function refused(row) {
  const box = row.querySelector("input[type=text], select");
  const help = row.querySelector(".edgestore-help");
  if (!box || !help) return;
  help.id ||= `edgestore-help-${(helps += 1)}`;
  set(box, "aria-describedby", help.id);
  if (row.querySelector(".edgestore-refused")) set(box, "aria-invalid", "true");
  else if (box.hasAttribute("aria-invalid")) box.removeAttribute("aria-invalid");
}

let helps = 0;

function describe() {
  unfold();
  measure();
  for (const handle of document.querySelectorAll(".noUi-handle")) {
    const slider = handle.closest(".widget-slider");
    const row = slider.closest(".edgestore-input") ?? slider;
    const labels = [...row.querySelectorAll(".widget-label")];
    set(handle, "aria-label", labels.map((label) => label.textContent.trim()).find(Boolean));
    // The readout, shown or not, holds the rounded value; the handle would say 20.000000000000004, or a logarithm.
    set(handle, "aria-valuetext", slider.querySelector(".widget-readout").textContent);
  }
  for (const spoken of document.querySelectorAll(".edgestore-screen, .edgestore-question, .edgestore-verdict")) {
    set(spoken, "role", "status");
  }
  // A phone brings up its keypad for a number, and its letters for a letter.
  for (const box of document.querySelectorAll(".edgestore-reply input")) {
    set(box, "inputmode", box.closest(".edgestore-number") ? "decimal" : "text");
  }
  for (const answer of document.querySelectorAll(".edgestore-answer")) {
    set(answer, "role", "status");
    set(answer, "aria-live", "polite");
    const picture = answer.closest(".edgestore-panel")?.querySelector("img.edgestore-picture, .edgestore-picture img");
    if (picture) set(picture, "alt", answer.textContent.trim());
  }
  for (const fold of document.querySelectorAll("button.edgestore-fold")) {
    set(fold, "aria-expanded", String(fold.classList.contains("mod-active")));
    fold.removeAttribute("aria-pressed");
  }
  for (const row of document.querySelectorAll(".edgestore-input, .edgestore-settings")) refused(row);
  for (const caption of document.querySelectorAll(".edgestore-caption")) {
    const picture = caption.closest(".edgestore-beside").querySelector("img.edgestore-picture, .edgestore-picture img");
    if (picture) set(picture, "alt", caption.textContent.trim());
  }
}

// What a reader unfolded stays so when the next answer puts other words there.

const isWarning = (fold) => fold.closest(".edgestore-warnings") !== null;

document.addEventListener("toggle", (event) => {
  const said = event.target.closest?.(".edgestore-remarks");
  if (said && event.target.isConnected) said.dataset[isWarning(event.target) ? "warnings" : "assumptions"] = event.target.open;
}, true);

function unfold() {
  for (const fold of document.querySelectorAll(".edgestore-remarks details:not([open])")) {
    const { dataset } = fold.closest(".edgestore-remarks");
    if ((isWarning(fold) ? dataset.warnings : dataset.assumptions) === "true") fold.open = true;
  }
}

// A picture is drawn for the room that it gets: the page says how wide that is, in steps, and whether its ground is
// dark, and again when either changes.

const WIDEST_PX = 760; // as the kernel draws it when it is not told
const STEP_PX = 4;
const STILL_MS = 150;
const said = new WeakMap();
const timers = new WeakMap();
const dark = matchMedia("screen and (prefers-color-scheme: dark)");

function tellRoom(shown) {
  const box = shown.querySelector(".edgestore-room input");
  const room = Math.min(Math.floor(shown.clientWidth / STEP_PX) * STEP_PX, WIDEST_PX);
  const told = dark.matches ? `${room} dark` : String(room);
  if (!box || !room || (said.get(shown) ?? String(WIDEST_PX)) === told) return;
  said.set(shown, told);
  box.value = told;
  box.dispatchEvent(new Event("change", { bubbles: true }));
}

const rooms = new ResizeObserver((entries) => {
  for (const { target } of entries) {
    clearTimeout(timers.get(target));
    timers.set(target, setTimeout(() => tellRoom(target), said.has(target) ? STILL_MS : 0));
  }
});

dark.addEventListener("change", () => {
  if (!matchMedia("print").matches) document.querySelectorAll(".edgestore-shown").forEach(tellRoom);
});

function measure() {
  for (const shown of document.querySelectorAll(".edgestore-shown:not([data-measured])")) {
    shown.dataset.measured = "";
    rooms.observe(shown);
  }
}

function press(name) {
  const button = document.querySelector(`button.edgestore-${name}`);
  if (!button || button.disabled) return false;
  button.click();
  return true;
}

// Page Down and Page Up turn a lesson's screens, as a hand-held remote does, wherever the focus is: a list, a slider or
// a text box never sees them. Enter checks an answer and, when that was right, goes on.
document.addEventListener("keydown", (event) => {
  const name = { PageDown: "next", PageUp: "back" }[event.key];
  const turns = name && document.querySelector(`button.edgestore-${name}`);
  if (turns && (press(name) || event.target.closest(".noUi-handle, select, textarea"))) {
    event.preventDefault();
    event.stopPropagation();
  }
  const box = event.key === "Enter" && event.target.closest(".edgestore-reply input");
  if (box) {
    box.blur(); // so that the kernel has the answer before it is asked to check it
    press("check") || press("next");
    box.focus();
  }
}, true); // before a text box of the widgets sees the key, which tells nobody else of it

// A list of the bar closes where a menu would: at Escape, and at a click elsewhere.
for (const gesture of ["keydown", "click"]) {
  document.addEventListener(gesture, (event) => {
    const open = document.querySelector(".edgestore-bar details[open]");
    if (!open || (event.key ? event.key !== "Escape" : open.contains(event.target))) return;
    open.open = false;
    if (event.key) open.querySelector("summary").focus();
  });
}

const heading = document.querySelector("h1");
if (heading) document.title = heading.textContent.replace("¶", "").trim();
document.getElementById("rendered_cells").setAttribute("role", "main");

function describeTheRest() {
  for (const picture of document.querySelectorAll("img:not([alt])")) {
    set(picture, "alt", "A picture of what the text and the table beside it say.");
  }
}

// Widgets come after the page and change at every move; their classes come last, when nothing else moves any more.
let later;
new MutationObserver(() => {
  describe();
  clearTimeout(later);
  later = setTimeout(() => { describe(); describeTheRest(); }, 300);
}).observe(document.body, {
  subtree: true,
  childList: true,
  characterData: true,
  attributeFilter: ["aria-valuetext", "class"],
});
