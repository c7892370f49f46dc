// Whether the answers on the page belong to what is typed, and whether anybody still computes them. When the kernel or
// the server has gone, the page says so, says how to go on, and keeps what was typed. It knows no answers.

const KEPT = `edgestore:${location.pathname}`;
const RETRY_MS = 2000;
const LOOK_MS = 200;
const PATIENCE_MS = 30000;

const BOXES = "#rendered_cells .jupyter-widgets :is(input[type=text], input[type=checkbox], textarea, select)";

const LINES = ".edgestore-settings input"; // says what all controls of a panel hold, also those that were never in view

const SERVER = {
  what: "This page is no longer connected: the program that serves the workbook does not answer.",
  how: "Start the workbook again with the command: edgestore open. It opens in a new page; this one keeps what you"
    + " typed, listed below, for as long as it stays open. If the program only paused, this page goes on by itself.",
};
const KERNEL = {
  what: "This page is no longer connected: the process that computed its answers (its kernel) has ended.",
  how: "Reload the page: it starts anew, and what you typed in its panels is put back.",
};

let kernel = null;
let said = null;
let isAsking = false;
const turns = new WeakMap();

// What is typed

function label(box) {
  const row = box.closest(".jupyter-widgets");
  return (row?.querySelector("label, .widget-label")?.textContent || row?.textContent || "").trim();
}

function boxes() {
  // The line of settings says again what the others hold.
  return [...document.querySelectorAll(BOXES)].filter((box) => label(box) && !box.closest(".edgestore-settings"));
}

function held(box) {
  if (box.type === "checkbox") return box.checked ? "ticked" : "";
  return box.tagName === "SELECT" ? box.selectedOptions[0]?.textContent ?? "" : box.value;
}

function typed() {
  return boxes().map((box) => ({
    label: label(box),
    value: held(box),
    isShown: box.offsetParent !== null,
    inPanel: box.closest(".edgestore-panel") !== null,
    fold: box.closest(".edgestore-folded")?.previousElementSibling.textContent ?? "",
  }));
}

function lines() {
  return [...document.querySelectorAll(LINES)];
}

// The notice

function element(tag, text) {
  const made = document.createElement(tag);
  made.textContent = text;
  return made;
}

function listed(entries) {
  const list = document.createElement("ul");
  const filled = entries.filter((entry) => entry.isShown && entry.value);
  list.append(...filled.map((entry) => element("li", `${entry.label}: ${entry.value}`)));
  return list;
}

function notice(...parts) {
  document.querySelector(".edgestore-notice")?.remove();
  const made = document.createElement("div");
  made.className = "edgestore-notice";
  made.setAttribute("role", "alert");
  made.append(...parts);
  document.querySelector("#rendered_cells > div").prepend(made);
  return made;
}

function gone(why) {
  if (said === why || said === KERNEL) return;
  said = why;
  document.body.classList.add("edgestore-gone");
  const entries = typed();
  const details = document.createElement("details");
  details.append(element("summary", "What is typed on this page"), listed(entries));
  const parts = [element("strong", why.what), element("p", why.how)];
  if (why === KERNEL) {
    try {
      sessionStorage.setItem(KEPT, JSON.stringify({ entries, held: lines().map((box) => box.value) }));
    } catch {
      parts[1].textContent = "Copy what you typed from the list below, then reload the page: it starts anew.";
      details.open = true;
    }
    const reload = element("button", "Reload the page");
    reload.addEventListener("click", () => location.reload());
    parts.push(reload);
  } else details.open = true;
  notice(...parts, details);
}

function back() {
  if (said !== SERVER) return;
  said = null;
  document.body.classList.remove("edgestore-gone");
  document.querySelector(".edgestore-notice")?.remove();
  for (const panel of document.querySelectorAll(".edgestore-panel")) settle(panel);
}

// After the reload: boxes of panels are filled again as they come; the rest is listed, to be entered again. What stands
// in a fold is on the page only when that was opened.

async function found(find, until) {
  for (;;) {
    const box = find();
    if (box || Date.now() > until) return box;
    await new Promise((done) => setTimeout(done, LOOK_MS));
  }
}

function unfold(label) {
  const closed = document.querySelectorAll(".edgestore-panel .edgestore-fold:not(.mod-active)");
  [...closed].filter((button) => label && button.textContent === label).forEach((button) => button.click());
}

function boxOf(entry, until) {
  return found(() => {
    const box = boxes().find((one) => one.closest(".edgestore-panel") && label(one) === entry.label);
    if (!box) unfold(entry.fold);
    return box;
  }, until);
}

async function putLine(line, at, until) {
  const box = line && await found(() => [lines()[at]].find((one) => one?.value), until);
  if (!box || box.value === line) return;
  box.value = line;
  box.dispatchEvent(new Event("change", { bubbles: true }));
  await kernel.requestKernelInfo();
}

async function put(box, entry) {
  if (held(box) === entry.value) return;
  const option = [...(box.options ?? [])].find((one) => one.textContent === entry.value);
  box.value = option?.value ?? entry.value;
  box.dispatchEvent(new Event("change", { bubbles: true }));
  await kernel.requestKernelInfo(); // a file that was named sets other boxes, which come after it
}

async function restore() {
  const kept = sessionStorage.getItem(KEPT);
  if (!kept) return;
  const until = Date.now() + PATIENCE_MS;
  const others = [];
  const { entries, held: before } = JSON.parse(kept);
  for (const [at, line] of before.entries()) await putLine(line, at, until);
  for (const entry of entries) {
    const box = entry.inPanel && await boxOf(entry, until);
    if (box) await put(box, entry);
    else others.push(entry);
  }
  sessionStorage.removeItem(KEPT);
  const parts = [element("p", "The page was started anew. What was typed in its panels is put back; a file that was"
    + " handed over must be chosen again.")];
  const list = listed(others);
  if (list.children.length) parts.push(element("p", "This was entered too, and must be entered again:"), list);
  notice(...parts).setAttribute("role", "status");
}

// Whether an answer belongs to what is typed

async function settle(panel) {
  const turn = (turns.get(panel) ?? 0) + 1;
  turns.set(panel, turn);
  panel.classList.remove("edgestore-typing"); // it is sent now
  panel.classList.add("edgestore-waiting");
  await new Promise((done) => setTimeout(done)); // the widget sends what changed first
  try {
    await kernel.requestKernelInfo(); // answered after all that was sent before
  } catch {
    return; // then the notice says why
  }
  if (turns.get(panel) === turn && !said) panel.classList.remove("edgestore-waiting");
}

function changed(event) {
  const panel = event.target.closest?.(".edgestore-panel");
  if (!panel || !kernel || event.target.closest(".edgestore-room")) return; // the page's own: no answer changes by it
  const isBox = event.target.matches("input[type=text]");
  if (event.type === "input" && isBox) panel.classList.add("edgestore-typing");
  else if (event.type !== "focusout" || panel.classList.contains("edgestore-typing")) settle(panel);
}

for (const type of ["input", "change", "focusout"]) document.addEventListener(type, changed, true);
for (const type of ["keydown", "pointerup"]) {
  document.addEventListener(type, (event) => {
    if (event.key === "Enter" || event.target.closest?.(".widget-slider")) changed(event);
  }, true);
}

// Whether anybody still computes

async function ask() {
  if (isAsking) return;
  isAsking = true;
  while (kernel.connectionStatus !== "connected" && said !== KERNEL) {
    try {
      const answer = await fetch(`${kernel.serverSettings.baseUrl}api/kernels/${kernel.id}`);
      if (answer.status === 404) gone(KERNEL);
    } catch {
      gone(SERVER);
    }
    await new Promise((done) => setTimeout(done, RETRY_MS));
  }
  isAsking = false;
  back();
}

function watch() {
  kernel = window.jupyterapp?.widgetManager?.kernel ?? null;
  if (!kernel) return setTimeout(watch, LOOK_MS);
  kernel.statusChanged.connect((_, status) => {
    if (["restarting", "autorestarting", "dead", "terminating"].includes(status)) gone(KERNEL);
  });
  kernel.connectionStatusChanged.connect(() => ask());
  restore();
}

watch();

// A file too large to be handed over is refused by its size, before it is read or sent.

let chosenFor = null;
const open = HTMLInputElement.prototype.click;

document.addEventListener("click", (event) => {
  chosenFor = event.target.closest(".widget-upload");
}, true);

HTMLInputElement.prototype.click = function click() {
  if (this.type === "file" && chosenFor) {
    const button = chosenFor;
    this.addEventListener("change", (event) => refuse(event, button), { capture: true, once: true });
  }
  return open.call(this);
};

function refuse(event, button) {
  button.parentElement.querySelector(".edgestore-too-large")?.remove();
  const most = Number(button.parentElement.querySelector("data").value);
  const file = event.target.files[0];
  if (!file || file.size <= most) return;
  event.stopImmediatePropagation();
  const mb = (bytes) => `${Math.floor(bytes / 1e6)} MB`;
  const told = element("p", `Not used: ${file.name} has ${mb(file.size)}; the browser can hand over at most ${mb(most)}.`
    + " The answer on this page is not about it. Fix: type the path of the file above, or measure a clip with the command"
    + ` edgestore measure "${file.name}"`);
  told.className = "edgestore-too-large";
  told.setAttribute("role", "alert");
  button.after(told);
}
