// What the widgets lack for people who use a keyboard or a screen reader. It reads and marks the page, no more.

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
  for (const answer of document.querySelectorAll(".edgestore-answer")) {
    set(answer, "role", "status");
    const picture = answer.closest(".edgestore-panel")?.querySelector("img.edgestore-picture, .edgestore-picture img");
    if (picture) set(picture, "alt", answer.textContent.trim());
  }
}

const heading = document.querySelector("h1");
if (heading) document.title = heading.textContent.replace("¶", "").trim();
document.getElementById("rendered_cells").setAttribute("role", "main");

// Widgets come after the page and change at every move.
new MutationObserver(describe).observe(document.body, {
  subtree: true,
  childList: true,
  characterData: true,
  attributeFilter: ["aria-valuetext"],
});
