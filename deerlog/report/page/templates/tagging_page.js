"use strict";
(() => {
const page = JSON.parse(document.getElementById("data").textContent);
const at = id => document.getElementById(id);
const parts = text => (text || "").split(";").map(t => t.trim()).filter(t => t && t !== "-");
const fold = name => name.normalize("NFKC").toLowerCase().replace(/\s+/g, "");
const bare = part => part.replace(/[?\s]+$/, "");
// A new element; text is only ever put in as text.
const make = (tag, set = {}, ...inside) => {
  const made = Object.assign(document.createElement(tag), set);
  made.append(...inside);
  return made;
};
const count = (n, one) => `${n} ${one}${n === 1 ? "" : "s"}`;
const say = text => { at("said").textContent = text; };

// What was answered, kept by the browser one visit an item, so that no stroke waits for the rest.
const visits = page.visits;
const earlier = [];  // answers of visits that are not on the page any more, and were never saved
let keeps = true;
const itemOf = v => JSON.stringify(["deerlog", page.property, page.camera, v.photo, v.taken]);
const keep = v => {
  try {
    if (v.text) localStorage.setItem(itemOf(v), JSON.stringify([v.text, v.saved, v.photos]));
    else localStorage.removeItem(itemOf(v));
  } catch { keeps = false; }
};
const recall = () => {
  const byItem = new Map(visits.map(v => [itemOf(v), v]));
  const mine = JSON.stringify(["deerlog", page.property, page.camera]).slice(0, -1) + ",";
  for (const item of Object.keys(localStorage)) {
    if (!item.startsWith(mine)) continue;
    const [text, saved, photos] = JSON.parse(localStorage.getItem(item));
    const visit = byItem.get(item);
    if (visit) Object.assign(visit, {text, saved});
    else if (saved) localStorage.removeItem(item);
    else {
      const [, , , photo, taken] = JSON.parse(item);
      earlier.push({photo, taken, photos, text, saved});
    }
  }
};
visits.forEach((v, place) => Object.assign(v, {place, text: "", saved: false, frame: (v.frames.length - 1) >> 1}));
try { recall(); } catch { keeps = false; }

// The names: those of bucks.csv, then those that were written here.
const names = page.names.map(([name, notes, faces]) => ({name, notes, faces}));
const byKey = new Map();
const addName = who => {
  const own = who.name.normalize("NFD").toLowerCase() + "123456789abcdefghijklmnopqrstuvwxyz0";
  who.key = [...own].find(c => /[a-z0-9]/.test(c) && !byKey.has(c)) || "";
  if (who.key) byKey.set(who.key, who);
  who.button = make("button", {type: "button", title: who.notes},
    make("kbd", {textContent: who.key}), make("span", {textContent: who.name}),
    ...who.faces.map(src => make("img", {src, alt: ""})));
  who.button.addEventListener("click", () => choose(who.name, several));
  at("names").append(who.button);
  at("known").append(make("option", {value: who.name}));
};
names.forEach(addName);
at("faces").addEventListener("toggle", () => {
  if (!at("faces").querySelector("figure")) names.filter(who => who.faces.length).forEach(who => at("faces").append(
    make("figure", {}, make("figcaption", {textContent: who.notes ? `${who.name}: ${who.notes}` : who.name}),
      ...who.faces.map(src => make("img", {src, alt: who.name})))));
});
at("faces").hidden = !names.some(who => who.faces.length);
const addWritten = text => parts(text).map(bare).forEach(name => {
  if (!name || names.some(who => fold(who.name) === fold(name))) return;
  names.push({name, notes: "", faces: []});
  addName(names.at(-1));
});
visits.forEach(v => addWritten(v.text));

let here = 0, listed = false, several = false, unsure = false, touched = false;
const undone = [];
const left = () => visits.filter(v => !v.text).length;

// Pictures.
const figure = v => {
  if (!v.frames.length) return make("figure", {}, make("p", {className: "empty", textContent: v.lacking}));
  const [address, kind, said] = v.frames[v.frame];
  const whole = make("a", {href: address, target: "_blank", rel: "noopener"});
  let shown = whole;
  if (kind === "video") shown = make("video", {controls: true, preload: "none", src: address, ariaLabel: said});
  else if (kind === "link") whole.append(`${said}: open it`);
  else whole.append(make("img", {loading: "lazy", decoding: "async", src: address, alt: `${said}, ${v.about}`}));
  const turn = (by, sign, word) => {
    const button = make("button", {type: "button", textContent: sign, ariaLabel: word});
    button.addEventListener("click", () => { go(v.place); otherFrame(by); });
    return button;
  };
  const caption = make("figcaption", {}, `${said}. ${v.lacking}`);
  if (v.frames.length > 1) {
    caption.prepend(turn(-1, "←", "The picture before"));
    caption.append(turn(1, "→", "The picture after"));
  }
  return make("figure", {}, shown, caption);
};
const otherFrame = by => {
  const v = visits[here];
  v.frame = (v.frame + by + v.frames.length) % (v.frames.length || 1);
  (listed ? rows[here] : at("one")).querySelector("figure").replaceWith(figure(v));
};
const rowOf = v => v.row === null ? "No row yet" : `Row ${v.row}`;
const heading = v => make("header", {}, make("h2", {textContent: v.title}),
  make("p", {className: "note"}, `${rowOf(v)}: ${v.about} `, make("code", {textContent: v.photo})));
const answer = v => v.text === "-" ? "nobody" : v.text || "no answer yet";

// The list, in pieces: its rows are made as one comes near its end.
const PIECE = 40;
const rows = [];
const grow = upto => {
  while (rows.length < Math.min(upto, visits.length)) {
    const v = visits[rows.length];
    const pick = make("button", {type: "button", className: "answer", textContent: answer(v)});
    pick.addEventListener("click", () => go(v.place));
    rows.push(make("li", {}, heading(v), figure(v), pick));
    at("list").append(rows.at(-1));
  }
};
new IntersectionObserver(seen => seen[0].isIntersecting && listed && grow(rows.length + PIECE),
  {rootMargin: "600px"}).observe(at("faces").parentNode.insertBefore(make("p"), at("faces")));

const mark = v => {
  const row = rows[v.place];
  if (row) row.querySelector(".answer").textContent = answer(v);
};
const tell = () => {
  const v = visits[here], n = left(), waits = [...visits, ...earlier].filter(v => v.text && !v.saved).length;
  at("left").textContent = `${n} of ${count(visits.length, "visit")} left`;
  at("unsaved").textContent = waits ? `${count(waits, "answer")} not saved yet` : "";
  at("who").textContent = `${rowOf(v)}: ${answer(v)}`;
  at("undo").disabled = !undone.length;
  at("unsure").ariaPressed = unsure;
  at("several").ariaPressed = several;
  const chosen = parts(v.text).map(bare);
  names.forEach(who => { who.button.ariaPressed = chosen.includes(who.name); });
};
const draw = () => {
  const v = visits[here];
  at("one").hidden = listed;
  at("list").hidden = !listed;
  at("look").replaceChildren(make("kbd", {textContent: "."}), listed ? " One by one" : " List");
  if (listed) {
    grow(here + PIECE);
    document.querySelector("li[aria-current]")?.removeAttribute("aria-current");
    rows[here].setAttribute("aria-current", "true");
    rows[here].scrollIntoView({block: "start"});
  } else {
    // New elements: the picture of the visit before never stands under this one's time.
    at("one").replaceChildren(heading(v), figure(v));
    const after = visits.slice(here + 1).find(v => !v.text && v.frames.length);
    if (after && after.frames[after.frame][1] === "photo") new Image().src = after.frames[after.frame][0];
  }
  tell();
};
const go = place => {
  if (place !== here) several = unsure = touched = false;
  here = Math.max(0, Math.min(place, visits.length - 1));
  draw();
};
const next = () => {
  several = unsure = touched = false;
  const after = visits.findIndex((v, place) => place > here && !v.text);
  const open = after < 0 ? visits.findIndex(v => !v.text) : after;
  if (open < 0) say("Every visit has an answer. Save them now.");
  go(open < 0 ? here : open);
};

// Answers.
const put = changes => {
  undone.push(changes.map(([v]) => [v, v.text, v.saved]));
  for (const [v, text] of changes) {
    Object.assign(v, {text, saved: false});
    keep(v);
    mark(v);
  }
  say(changes.length > 1 ? `${changes.length} visits: nobody. Undo takes it back.`
    : `(${rowOf(changes[0][0])}: ${answer(changes[0][0])})`);
};
const set = (text, stay = false) => {
  put([[visits[here], text]]);
  if (stay || !text) { say(""); tell(); } else next();
};
const choose = (name, stay) => {
  const before = touched || stay ? parts(visits[here].text) : [];
  const said = name + (unsure ? "?" : "");
  const kept = before.filter(part => bare(part) !== name);
  if (!before.includes(said)) kept.push(said);
  unsure = false;
  touched = true;
  set(kept.join("; "), stay);
};
const acts = {
  nobody: () => set("-"),
  same: () => {
    const text = here && visits[here - 1].text;
    if (text) set(text); else say("The visit before has no answer yet.");
  },
  unsure: () => { unsure = !unsure; tell(); },
  several: () => { several = !several; tell(); },
  next,
  rest: () => {
    const open = visits.filter(v => !v.text);
    if (open.length) { put(open.map(v => [v, "-"])); next(); }
  },
  undo: () => {
    const last = undone.pop();
    if (!last) return;
    for (const [v, text, saved] of last) { Object.assign(v, {text, saved}); keep(v); mark(v); }
    say(`Taken back: ${last.length > 1 ? `${last.length} visits` : rowOf(last[0][0])}.`);
    several = unsure = touched = false;
    go(last[0][0].place);
  },
  look: () => { listed = !listed; draw(); },
  save: () => save(),
  copy: () => copy(),
};
Object.entries(acts).forEach(([id, act]) => at(id).addEventListener("click", act));
at("typed").addEventListener("submit", event => {
  event.preventDefault();
  const text = at("name").value.trim();
  at("name").value = "";
  at("name").blur();
  if (text) { addWritten(text); set(text); }
});

// What leaves the page. A space before a text that a spreadsheet program would run as a formula:
// ingest drops it, and nothing runs; before a path it is "./", as in the sheet.
const RUNS = /^[=+\-@\t\r ]/;
const cell = text => RUNS.test(text) && text !== "-" ? ` ${text}` : text;
const save = () => {
  const answered = [...visits, ...earlier].filter(v => v.text);
  if (!answered.length) { say("Nothing is answered yet."); return; }
  const line = cells => cells.map(c => /[",;\r\n\t]|^\s/.test(c) ? `"${c.replaceAll('"', '""')}"` : c).join(",");
  const lines = answered.map(v => {
    const cells = {camera: cell(page.camera), photo: RUNS.test(v.photo) ? `./${v.photo}` : v.photo,
      taken: v.taken, photos: `${v.photos}`, bucks: cell(v.text)};
    return line(page.columns.map(column => cells[column] ?? ""));
  });
  const text = "\ufeff" + [line(page.columns), ...lines, ""].join("\r\n");
  const now = new Date(Date.now() - new Date().getTimezoneOffset() * 60000).toISOString();
  const file = `${page.camera} tagged ${now.slice(0, 19).replace("T", " ").replaceAll(":", ".")}.csv`;
  const address = URL.createObjectURL(new Blob([text], {type: "text/csv"}));
  make("a", {href: address, download: file}).click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
  answered.forEach(v => { v.saved = true; keep(v); });
  tell();
  say(`${count(answered.length, "visit")} in ${file}. Put it into tags/ and run deerlog ingest.`);
};
const copy = () => {
  const changed = visits.filter(v => v.text && v.row !== null).sort((a, b) => a.row - b.row);
  if (!changed.length) { say("No visit with a row in the sheet is answered yet."); return; }
  const answers = new Map(changed.map(v => [v.row, v.text]));
  const [first, last] = [changed[0], changed.at(-1)];
  const cells = [];
  for (let row = first.row; row <= last.row; row++) {
    const text = answers.get(row) ?? page.cells[row];
    if (text === undefined) { say(`Row ${row} of the sheet is blank or could not be read, so nothing is copied. Use Save.`); return; }
    cells.push(cell(text).replace(/[\t\r\n]+/g, " "));
  }
  const box = at("to-copy");
  box.value = cells.join("\n");
  box.hidden = false;
  box.select();
  document.execCommand("copy");
  box.blur();
  say(`${count(cells.length, "cell")} copied. Paste at row ${first.row} of bucks: that row must be ${first.photo}`
    + (cells.length > 1 ? `, and row ${last.row} must be ${last.photo}.` : ".") + " If not, use Save.");
};

// Keys.
const KEYS = {" ": "nobody", "-": "nobody", "=": "same", "?": "unsure", "+": "several", "Enter": "next",
  "_": "rest", "Backspace": "undo", ".": "look"};
addEventListener("keydown", event => {
  const {key, target} = event;
  if (event.altKey || event.isComposing) return;
  if (event.ctrlKey || event.metaKey) {
    if (key === "s") save(); else if (key === "z" && target !== at("name")) acts.undo(); else return;
    event.preventDefault();
    return;
  }
  if (target === at("name")) { if (key === "Escape") target.blur(); return; }
  // Who walks the buttons by tabulator presses them as anywhere.
  if ([" ", "Enter"].includes(key) && target.matches("a, button, summary, video, textarea")) return;
  const who = byKey.get(key.toLowerCase());
  if (event.repeat && !key.startsWith("Arrow")) { event.preventDefault(); return; }  // one stroke, one answer
  if (KEYS[key]) acts[KEYS[key]]();
  else if (key === "/") at("name").focus();
  else if (key === "ArrowLeft" || key === "ArrowRight") otherFrame(key === "ArrowLeft" ? -1 : 1);
  else if (key === "ArrowUp" || key === "ArrowDown") go(here + (key === "ArrowUp" ? -1 : 1));
  else if (who) choose(who.name, several || event.shiftKey);
  else return;
  event.preventDefault();
});
// After a tap the keys are the page's again.
addEventListener("click", event => { if (event.detail) event.target.closest("button, summary")?.blur(); });
addEventListener("beforeunload", event => {
  if (!keeps && visits.some(v => v.text && !v.saved)) event.preventDefault();
});
const open = visits.findIndex(v => !v.text);
here = Math.max(open, 0);
draw();
if (!keeps) say("This browser keeps nothing of this page: save before you close it.");
else if (earlier.length) say(`${count(earlier.length, "answer")} to visits that are not here any more were never saved; Save takes them along.`);
})();
