// A lesson in front of a class: the whole picture, black when the class is to look at the trainer, a jump by number,
// and the place kept over a reload. The trainer's notes, open beside it, follow. The kernel knows the screens.

const KEPT = "edgestore:lesson";
const CLASS = "edgestore-presenting";
const BLACK = "edgestore-black";
const AGAIN_MS = 1000;
const TRIES = 20;

let typed = "";
let isBegun = false;
let isPutBack = false;
let isJoined = false;

const lesson = () => document.querySelector(".edgestore-lesson");

function tell(text) {
  const box = document.querySelector(".edgestore-at input");
  box.value = text;
  box.dispatchEvent(new Event("change", { bubbles: true }));
}

const place = () => document.querySelector(".edgestore-screen [data-at]")?.dataset.at;
const isConnected = () => window.jupyterapp?.widgetManager?.kernel?.connectionStatus === "connected";

// What was kept is put back once, when somebody hears it; a message to a kernel that is still starting may be lost.
async function putBack(kept) {
  for (let tries = 0; tries < TRIES && place() !== kept; tries += 1) {
    if (isConnected()) tell(kept + " ".repeat(tries % 2)); // what is in the box already would not be sent again
    await new Promise((done) => setTimeout(done, AGAIN_MS));
  }
  isPutBack = true;
  keep();
}

// What is on the screen is kept.
function keep() {
  const at = place();
  if (!at || !document.querySelector(".edgestore-at input")) return;
  if (!isBegun) {
    isBegun = true;
    putBack(sessionStorage.getItem(KEPT) ?? at);
  }
  if (!isPutBack || sessionStorage.getItem(KEPT) === at) return;
  sessionStorage.setItem(KEPT, at);
  localStorage.setItem(KEPT, at);
}

function present() {
  lesson().classList.add(CLASS);
  lesson().querySelector(".edgestore-screen").focus?.();
  document.documentElement.requestFullscreen?.().catch(() => {}); // without leave it still fills the window
}

function leave() {
  lesson()?.classList.remove(CLASS);
  document.body.classList.remove(BLACK);
  typed = "";
  if (document.fullscreenElement) document.exitFullscreen();
}

document.addEventListener("click", (event) => {
  if (event.target.closest("button.edgestore-present")) present();
});

document.addEventListener("fullscreenchange", () => {
  if (!document.fullscreenElement) leave();
});

document.addEventListener("keydown", (event) => {
  if (!lesson()?.classList.contains(CLASS) || event.ctrlKey || event.altKey || event.metaKey) return;
  const isBlack = document.body.classList.contains(BLACK);
  if (event.key === "Escape") leave();
  else if (["b", "B", "."].includes(event.key)) document.body.classList.toggle(BLACK, !isBlack);
  else if (/^\d$/.test(event.key)) typed = (typed + event.key).slice(-2);
  else if (event.key === "Enter" && typed) {
    tell(`go ${typed}`);
    typed = "";
  } else {
    if (event.key.startsWith("Page")) document.body.classList.remove(BLACK);
    typed = "";
    return;
  }
  event.preventDefault();
  event.stopPropagation();
}, true);

// The notes, on a second page, show where the lesson is.
function follow(at) {
  const [key, number] = at.split(" ");
  const note = document.getElementById(`edgestore-note-${key}-${number}`);
  if (!note) return;
  document.querySelector(".edgestore-now")?.classList.remove("edgestore-now");
  note.classList.add("edgestore-now");
  note.scrollIntoView({ block: "center" });
}

addEventListener("storage", (event) => {
  if (event.key === KEPT && event.newValue) follow(event.newValue);
});

// Notes that are opened during a lesson begin where it is.
function join() {
  if (isJoined || !document.querySelector(".edgestore-notes")) return;
  isJoined = true;
  follow(localStorage.getItem(KEPT) ?? "");
}

new MutationObserver(() => {
  keep();
  join();
}).observe(document.body, { subtree: true, childList: true });
join();
