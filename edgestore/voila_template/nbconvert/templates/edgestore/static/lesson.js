// A lesson in front of a class: the whole picture, black when the class is to look at the trainer, a jump by number,
// and the place kept over a reload. The trainer's notes, open beside it, follow. The kernel knows the screens.

const KEPT = "edgestore:lesson";
const CLASS = "edgestore-presenting";
const BLACK = "edgestore-black";

let typed = "";
let isPutBack = false;

const lesson = () => document.querySelector(".edgestore-lesson");

function tell(text) {
  const box = document.querySelector(".edgestore-at input");
  box.value = text;
  box.dispatchEvent(new Event("change", { bubbles: true }));
}

// What is on the screen is kept; what was kept is put back once, when the page is there.
function keep() {
  const at = document.querySelector(".edgestore-screen [data-at]")?.dataset.at;
  if (!at || !document.querySelector(".edgestore-at input")) return;
  const kept = sessionStorage.getItem(KEPT);
  if (!isPutBack) {
    isPutBack = true;
    if (kept && kept !== at) return tell(kept);
  }
  if (kept === at) return;
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

new MutationObserver(keep).observe(document.body, { subtree: true, childList: true });
