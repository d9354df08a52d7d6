// The page's one script. Everything works without it; with it, what is typed is kept in this device until it is sent:
// a draft while it is being typed, and notes that could not be sent, which go once each and in order when the network
// is back.
"use strict";

const open = () => new Promise((done, failed) => {
  const asked = indexedDB.open("leadsman", 1);
  asked.onupgradeneeded = () => {
    asked.result.createObjectStore("unsent", { keyPath: "n", autoIncrement: true });
    asked.result.createObjectStore("draft");
  };
  asked.onsuccess = () => done(asked.result);
  asked.onerror = () => failed(asked.error);
});
let base;
const store = async (name, mode, work) => {
  base = base || open();
  const db = await base;
  return new Promise((done, failed) => {
    const change = db.transaction(name, mode, { durability: "strict" });
    const asked = work(change.objectStore(name));
    change.oncomplete = () => done(asked && asked.result);
    change.onabort = change.onerror = () => failed(change.error);
  });
};
const unsent = () => store("unsent", "readonly", (s) => s.getAll());

// The time of writing with this device's own offset.
const written = () => {
  const now = new Date();
  const off = -now.getTimezoneOffset();
  const two = (n) => String(Math.abs(n)).padStart(2, "0");
  const local = new Date(now.getTime() + off * 60000).toISOString().slice(0, 19);
  return local + (off < 0 ? "-" : "+") + two(Math.trunc(off / 60)) + ":" + two(off % 60);
};

const one = (id) => document.getElementById(id);
const words = one("words-form") && one("words");
const form = one("words-form");

// What became of a note: "taken" with the answer, "kept" where the network is away, "refused" with the reason.
const send = async (note) => {
  let answer;
  const file = note.file && new FormData();
  if (file) file.append("files", note.file, note.name);
  try {
    answer = await fetch((file ? "/files?token=" : "/note?token=") + document.body.dataset.token, {
      method: "POST",
      headers: { Accept: "application/json" },
      body: file || new URLSearchParams({ words: note.words, written: note.written }),
      signal: AbortSignal.timeout(file ? 600000 : 20000),
    });
  } catch (away) {
    return { how: "kept" };
  }
  let told = {};
  try { told = await answer.json(); } catch (other) { /* no answer of this page's own */ }
  if (answer.ok && told.taken && told.taken.length) return { how: "taken", to: told.to };
  if (answer.status === 429 || answer.status >= 500) return { how: "kept" };
  const refused = told.refused && told.refused[0];
  return { how: "refused", why: told.error || (refused && refused.error) || "this device may have to be paired again" };
};

// One page at a time sends, and one call at a time, so that no note goes twice; who calls meanwhile waits for its turn.
const inTurn = (work) => navigator.locks ? navigator.locks.request("leadsman-send", work) : work();
// Where the notes that were taken are shown, by their numbers in the store.
const taken = new Map();
let busy = 0;
let turn = Promise.resolve();
const sendAll = () => { busy += 1; return turn = turn.then(sendNow, sendNow).finally(() => { busy -= 1; }); };
const sendNow = async () => {
  let last = {};
  await inTurn(async () => {
    for (const note of await unsent()) {
      last = await send(note);
      if (last.how !== "taken") break;
      taken.set(note.n, last.to);
      await store("unsent", "readwrite", (s) => s.delete(note.n));
    }
  });
  await show(last.why);
};
// After all is sent, the page goes on to what was understood of a note.
const goOn = async (n) => {
  await sendAll();
  if (!taken.has(n) || (await unsent()).length) return false;
  location.assign(taken.get(n));
  return true;
};

const show = async (why) => {
  const notes = await unsent();
  const line = one("unsent");
  line.hidden = notes.length === 0;
  line.textContent = notes.length === 0 ? "" :
    `${notes.length} ${notes.length === 1 ? "note is" : "notes are"} kept in this device and not sent yet` +
    (why ? `: ${why}` : "");
  if (!one("kept")) return;
  one("kept").hidden = notes.length === 0;
  one("kept-list").replaceChildren(...notes.map((note) => {
    const item = document.createElement("li");
    const words = note.file ? note.name : note.words;
    item.textContent = words.length > 300 ? words.slice(0, 300) + " …" : words;
    return item;
  }));
};

// A browser that keeps nothing (a private window) sends the form by itself, with the time of writing.
const sendPlainly = () => { one("written").value = written(); form.submit(); };

// Whether something was typed here, which goes before a draft.
let typed = false;
// Keeps what stands in the field as the draft. One write at a time, and the last always of what stands there then: where
// a device is slow to write, a write for every letter would hold up the note behind them.
let keeping = null;
let again = false;
const keepAsLongAsItChanges = async () => {
  while (again) {
    again = false;
    const text = words.value;
    await store("draft", "readwrite", (s) => text ? s.put(text, "words") : s.delete("words")).catch(() => {});
  }
  keeping = null;
};
const keepDraft = () => {
  again = true;
  return keeping ||= keepAsLongAsItChanges();
};
// Listened to from the first moment on, before the store is even open: nothing that is typed early may be lost.
if (words && "indexedDB" in window) {
  words.addEventListener("input", () => {
    typed = true;
    keepDraft();
  });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const text = words.value;
    if (!text.trim()) return;
    // In the device first: only then may the field be emptied.
    let n;
    const slow = setTimeout(() => {
      one("unsent").hidden = false;
      one("unsent").textContent = "This device has not kept the note yet: leave the screen open";
    }, 5000);
    try {
      n = await store("unsent", "readwrite", (s) => s.add({ words: text, written: written() }));
    } catch (full) {
      return sendPlainly();
    } finally {
      clearTimeout(slow);
    }
    words.value = "";
    await keepDraft();
    if (!await goOn(n)) words.focus();
  });
  one("send").addEventListener("click", sendAll);
} else if (form) {
  form.addEventListener("submit", () => { one("written").value = written(); });
}

// Whether this device has a store already; where a browser does not say, it is taken to be there.
const hasStore = async () => !indexedDB.databases || (await indexedDB.databases()).some((db) => db.name === "leadsman");

const start = async () => {
  // The store is made on the screen that needs it. Were it made on any screen, one that is left in the middle of that
  // and kept frozen by the browser would hold up the next screen's notes until the browser lets go of it.
  if (!one("words-form") && !await hasStore()) return;
  if (words) {
    const draft = await store("draft", "readonly", (s) => s.get("words"));
    if (draft && !typed && !words.value) words.value = draft;
  }
  await show();
  const notes = await unsent();
  if (notes.length) await sendAll();
  addEventListener("online", sendAll);
  // A boat's network comes and goes without the device being told.
  setInterval(async () => { if (!busy && (await unsent()).length) await sendAll(); }, 10000);
};

// Recording works where browsers let a page listen: over TLS, or on this machine itself.
const recorder = one("recorder");
if (recorder && isSecureContext && navigator.mediaDevices && "MediaRecorder" in window) {
  recorder.hidden = false;
  let running = null;
  const tell = (text) => { one("recording").textContent = text; };
  one("record").addEventListener("click", async () => {
    if (running) return running.stop();
    let sound;
    try {
      sound = await navigator.mediaDevices.getUserMedia({ audio: true });
    } catch (refused) {
      return tell("The browser lets this page not listen: " + refused.message);
    }
    const pieces = [];
    const name = "recording-" + written().slice(0, 16).replace("T", "-").replace(":", "");
    running = new MediaRecorder(sound);
    running.addEventListener("dataavailable", (event) => pieces.push(event.data));
    running.addEventListener("stop", async () => {
      const kind = running.mimeType.includes("mp4") ? ".m4a" : running.mimeType.includes("ogg") ? ".ogg" : ".webm";
      sound.getTracks().forEach((track) => track.stop());
      const file = new Blob(pieces, { type: running.mimeType });
      running = null;
      one("record").textContent = "Record";
      // In the device first, then over the network.
      const n = await store("unsent", "readwrite", (s) => s.add({ file, name: name + kind }));
      tell("Kept; sending …");
      await goOn(n);
      tell("");
    });
    running.start(1000);
    one("record").textContent = "Stop";
    tell("Recording");
  });
}

// Words that were heard are played in place; without a script the button leads to the sound itself.
document.addEventListener("click", (event) => {
  const button = event.target.closest("a.play");
  if (!button) return;
  event.preventDefault();
  document.querySelectorAll("audio").forEach((other) => other.pause());
  const sound = document.createElement("audio");
  sound.controls = true;
  sound.src = button.href;
  button.replaceWith(sound);
  sound.focus();
  sound.play().catch(() => {});
});

// The worker lets the page open without network; browsers take one over TLS only.
if (location.protocol === "https:" && "serviceWorker" in navigator && document.body.dataset.token) {
  navigator.serviceWorker.register("/worker.js").catch(() => {});
}

// A code that came with a picture from the terminal stands behind the address, where it is sent to nobody.
const code = one("code");
if (code && location.hash.length > 1) {
  code.value = decodeURIComponent(location.hash.slice(1));
  history.replaceState(null, "", location.pathname);
}

const files = one("files-form");
if (files) files.addEventListener("submit", () => { one("progress").textContent = "Sending …"; });

// Without a store there is nothing to start: notes are sent plainly.
if ("indexedDB" in window) start().catch(() => {});
