// What the widgets lack for people who use a keyboard or a screen reader. It reads and marks the page, and presses its
// buttons for keys; it knows no answers.

function set(element, attribute, text) {
  if (text && element.getAttribute(attribute) !== text) element.setAttribute(attribute, text);
}

function describe() {
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
  for (const answer of document.querySelectorAll(".edgestore-answer")) {
    set(answer, "role", "status");
    const picture = answer.closest(".edgestore-panel")?.querySelector("img.edgestore-picture, .edgestore-picture img");
    if (picture) set(picture, "alt", answer.textContent.trim());
  }
  for (const caption of document.querySelectorAll(".edgestore-caption")) {
    const picture = caption.closest(".edgestore-beside").querySelector("img.edgestore-picture, .edgestore-picture img");
    if (picture) set(picture, "alt", caption.textContent.trim());
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
  attributeFilter: ["aria-valuetext"],
});
