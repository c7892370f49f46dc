// The settings of the panels live in the address of the page: who opens it again, or is sent it, meets the same case.
// The kernel writes and reads them; here they are only carried to and fro. The second panel's names begin with "2.".
// The address that opened the first page holds the token too, which is a key to this computer: it goes as soon as the
// cookie that came with that page opens doors by itself, so that nobody hands it on with the settings.

const TOKEN = "token";
const CALM_MS = 500;
const KEPT = `edgestore:${location.pathname}`; // what connection.js puts back after a reload goes first

const NAME = /^(?:(\d+)\.)?(\w+)$/;

const asked = new Map(); // by panel, what the address says
const first = new Map(); // by panel, what it opens with
const lines = new Map(); // by panel, what it stands at
let timer = null;

function read() {
  const own = new Map();
  for (const [key, value] of new URLSearchParams(location.search)) {
    const [, at = "1", name] = key.match(NAME) ?? [];
    if (!name || name === TOKEN) continue;
    if (!own.has(at)) own.set(at, new URLSearchParams());
    own.get(at).set(name, value);
  }
  for (const [at, pairs] of own) asked.set(Number(at), pairs.toString().replaceAll("+", "%20"));
}

function write() {
  const before = new URLSearchParams(location.search);
  const pairs = before.has(TOKEN) ? [`${TOKEN}=${encodeURIComponent(before.get(TOKEN))}`] : []; // no cookie was kept
  for (const [at, line] of lines) {
    if (!line || line === first.get(at)) continue;
    pairs.push(at === 1 ? line : line.split("&").map((pair) => `${at}.${pair}`).join("&"));
  }
  history.replaceState(history.state, "", location.pathname + (pairs.length ? `?${pairs.join("&")}` : "") + location.hash);
}

function look() {
  document.querySelectorAll(".edgestore-settings input").forEach((box, index) => {
    const at = index + 1;
    if (!box.value) return;
    if (!first.has(at)) {
      first.set(at, box.value);
      lines.set(at, box.value);
      if (asked.has(at)) {
        box.value = asked.get(at);
        box.dispatchEvent(new Event("change", { bubbles: true }));
        return;
      }
    }
    const isBeingTyped = box === document.activeElement || box.closest(".edgestore-settings").querySelector(".edgestore-refused");
    if (isBeingTyped || box.value === lines.get(at)) return;
    lines.set(at, box.value);
    clearTimeout(timer);
    timer = setTimeout(write, CALM_MS);
  });
}

async function forgetToken() {
  const own = location.search.slice(1).split("&").filter((pair) => pair.split("=")[0] !== TOKEN);
  const { baseUrl, kernelId } = JSON.parse(document.getElementById("jupyter-config-data").textContent);
  const answer = await fetch(`${baseUrl}api/kernels/${kernelId}`); // asked with the cookie alone
  if (!answer.ok) return;
  const rest = own.filter(Boolean).join("&");
  history.replaceState(history.state, "", location.pathname + (rest ? `?${rest}` : "") + location.hash);
}

if (!sessionStorage.getItem(KEPT)) read();
if (new URLSearchParams(location.search).has(TOKEN)) forgetToken();
new MutationObserver(look).observe(document.body, { subtree: true, childList: true, characterData: true });
