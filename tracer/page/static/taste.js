// The tasting page. Every change is kept on the device at once and sent whole with a rising revision, until the server has it.
"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const say = data.say;
// By name, not by device: a name that was freed and taken again on this device finds what it had not sent.
const place = `tracer ${data.code} ${data.taster}`;
const address = `/table/${data.code}/mine`;
const find = (id) => document.getElementById(id);

let state = {revision: data.revision, tasted: data.tasted};
let sent = data.revision;
let gone = false;
let sending = false;

const stored = () => {
  try { return JSON.parse(localStorage.getItem(place)); } catch (error) { return null; }
};
const earlier = stored();
if (earlier && earlier.revision > state.revision) state = earlier;
if (!state.tasted.language) state.tasted.language = data.language;

const make = (name, fields, ...children) => {
  const element = Object.assign(document.createElement(name), fields);
  for (const child of children) if (child) element.append(child);
  return element;
};
const button = (text, pressed, action, label) => {
  const made = make("button", {type: "button", textContent: text});
  if (pressed !== null) made.setAttribute("aria-pressed", String(pressed));
  if (label) made.setAttribute("aria-label", label);
  made.addEventListener("click", action);
  return made;
};

const status = (text, waiting) => {
  const line = find("state");
  if (line.textContent !== text) line.textContent = text;
  line.classList.toggle("waiting", waiting);
};

const changed = () => {
  state.revision += 1;
  try { localStorage.setItem(place, JSON.stringify(state)); } catch (error) { /* the server still gets it */ }
  draw();
  if (!gone) status(say.saving, false);
  send();
};

const send = async () => {
  if (gone || sending || state.revision <= sent) return;
  sending = true;
  const body = JSON.stringify(state);
  const revision = state.revision;
  let reached = false;
  try {
    const answer = await fetch(address, {method: "POST", headers: {"Content-Type": "application/json"}, body, keepalive: body.length < 60000});
    if (answer.status === 403) {
      gone = true;
      status(say.moved_away, true);
    } else if (answer.ok) {
      reached = true;
      sent = Math.max(sent, revision);
      if (state.revision === sent) status(say.saved, false);
      if ((await answer.json()).late) find("late").textContent = say.late_kept;
    } else {
      status(say.kept_here, true);
    }
  } catch (error) {
    status(say.kept_here, true);
  }
  sending = false;
  if (!gone && state.revision > sent) setTimeout(send, reached ? 0 : 1500);
};
addEventListener("online", send);
addEventListener("pagehide", () => {
  if (!gone && state.revision > sent) navigator.sendBeacon(address, new Blob([JSON.stringify(state)], {type: "application/json"}));
});
addEventListener("storage", (event) => {
  // Another tab of the same device went on.
  const other = event.key === place ? stored() : null;
  if (other && other.revision > state.revision) {
    state = other;
    draw();
  }
});

const noteOf = (note) => (note.means ? data.notes[note.means] : null);

const add = (note) => {
  // A word that was kept open and is settled now stays one note.
  const same = state.tasted.notes.find((one) => one.words === note.words && (one.means === note.means || !one.means));
  if (!same) state.tasted.notes.push(note);
  else if (note.means) same.means = note.means;
  state.tasted.done = false;
  changed();
  const cards = find("notes").querySelectorAll(".tasted");
  if (cards.length) cards[same ? state.tasted.notes.indexOf(same) : cards.length - 1].scrollIntoView({block: "nearest"});
};

const card = (note, index) => {
  const known = noteOf(note);
  const name = known ? known.label : note.words;
  const item = make("li", {className: note.found ? "tasted" : "tasted absent"});
  item.append(make("h2", {textContent: note.found ? name : `${name}: ${say.not_there.toLowerCase()}`}));
  const own = known && known.label.toLowerCase() !== note.words.toLowerCase() ? `“${note.words}”` : "";
  const text = [own, known ? known.definition : `(${say.open_word})`].filter(Boolean).join(" ");
  item.append(make("p", {className: "small", textContent: text}));
  if (note.found) {
    const cups = make("div", {className: "row"});
    cups.setAttribute("role", "group");
    cups.setAttribute("aria-label", `${name}: ${say.which_cups}`);
    for (let cup = 1; cup <= data.cups; cup += 1) {
      const has = note.cups.includes(cup);
      cups.append(button(String(cup), has, () => {
        note.cups = has ? note.cups.filter((one) => one !== cup) : [...note.cups, cup].sort((a, b) => a - b);
        changed();
      }, `${say.cup} ${cup}`));
    }
    const every = note.cups.length === data.cups;
    cups.append(button(say.all_cups, every, () => {
      note.cups = every ? [] : Array.from({length: data.cups}, (_, i) => i + 1);
      changed();
    }));
    item.append(cups);
    const levels = make("div", {className: "row"});
    levels.setAttribute("role", "group");
    levels.setAttribute("aria-label", name);
    for (const level of ["slight", "moderate", "strong"]) {
      levels.append(button(say[level], note.intensity === level, () => {
        note.intensity = note.intensity === level ? null : level;
        changed();
      }));
    }
    item.append(levels);
  }
  const rest = make("div", {className: "row"});
  rest.append(button(note.found ? say.not_there : say.there, null, () => { note.found = !note.found; changed(); }, `${name}: ${note.found ? say.not_there : say.there}`));
  rest.append(button(say.remove, null, () => {
    state.tasted.notes.splice(index, 1);
    changed();
    const back = button(say.undo, null, () => {
      state.tasted.notes.splice(index, 0, note);
      find("undo").replaceChildren();
      changed();
    });
    find("undo").replaceChildren(`${say.removed}: ${name} `, back);
    back.focus();
  }, `${say.remove} ${name}`));
  item.append(rest);
  return item;
};

const draw = () => {
  const held = document.activeElement;
  const cards = Array.from(find("notes").querySelectorAll(".tasted"));
  const inCard = cards.findIndex((one) => one.contains(held));
  const at = inCard >= 0 ? Array.from(cards[inCard].querySelectorAll("button")).indexOf(held) : -1;
  const drawn = state.tasted.notes.map(card);
  find("notes").replaceChildren(...(drawn.length ? drawn : [make("li", {textContent: say.no_notes_yet})]));
  if (at >= 0 && drawn[inCard]) {
    const again = drawn[inCard].querySelectorAll("button")[at];
    if (again) again.focus();
  }
  find("all").checked = state.tasted.checked_all;
  find("done").checked = state.tasted.done;
  warn();
};

// One taster's alarm stops the whole table, without telling what was noted.
// A word that may well mean such a note stops as well, until it is settled.
let stopped = false;
let doubtful = false;
const alarms = new Set(data.alarms);
const warn = () => {
  const own = doubtful || state.tasted.notes.some((one) => one.found && (noteOf(one) ? noteOf(one).stop : alarms.has(one.words)));
  const stop = find("stop");
  const text = own ? ` ${data.stop}` : stopped ? ` ${say.somebody_stopped} ${data.stop}` : "";
  if (stop.dataset.text === text) return;
  stop.dataset.text = text;
  stop.replaceChildren(...(text ? [make("div", {className: "caution stop"}, make("strong", {textContent: say.stop_title}), text)] : []));
};

for (const [id, field] of [["all", "checked_all"], ["done", "done"]]) {
  find(id).addEventListener("change", (event) => { state.tasted[field] = event.target.checked; changed(); });
}

const fresh = (reading, means) => ({
  words: reading.words, means, found: reading.found, intensity: reading.intensity,
  cups: reading.cups === -1 ? Array.from({length: data.cups}, (_, i) => i + 1) : [],
});
const clear = () => { doubtful = false; warn(); find("words").value = ""; find("found").replaceChildren(); find("words").focus(); };

const choices = (reading) => {
  // The buttons that a reading offers; the first is what Enter takes.
  if (reading.means && data.notes[reading.means]) {
    const name = data.notes[reading.means].label;
    return [[reading.found ? `${say.add_note}: ${name}` : `${name}: ${say.not_there.toLowerCase()}`, reading.means]];
  }
  if (reading.outcome === "clean") return [[`${say.add_note}: ${reading.words}`, null]];
  const offered = (reading.candidates.length ? reading.candidates : reading.suggestions).map((one) => [one.label, one.id]);
  return [...offered, [reading.outcome === "ambiguous" ? `${say.not_sure}: ${reading.words}` : `${say.keep_word}: ${reading.words}`, null]];
};

let asked = 0;
const offer = (readings) => {
  const parts = [];
  doubtful = readings.some((one) => one.stop && !one.means);
  for (const one of readings) if (one.stop && !one.means) alarms.add(one.words);
  warn();
  for (const reading of readings) {
    const row = make("div", {className: "chips"});
    const question = reading.ask || (reading.outcome === "unknown" && reading.suggestions.length ? `${say.did_you_mean}:` : "");
    if (question) parts.push(make("p", {className: "small", textContent: `“${reading.words}” ${question}`}));
    for (const [text, means] of choices(reading)) {
      row.append(button(text, null, () => {
        add(fresh(reading, means));
        const left = readings.filter((one) => one !== reading);
        if (left.length) offer(left); else clear();
      }));
    }
    parts.push(row);
  }
  find("found").replaceChildren(...parts);
};
const read = async (text) => {
  const turn = ++asked;
  if (!text.trim()) { doubtful = false; warn(); find("found").replaceChildren(); return []; }
  try {
    const query = new URLSearchParams({text, language: state.tasted.language});
    const answer = await fetch(`/words?${query}`);
    if (!answer.ok) throw new Error(String(answer.status));
    const readings = await answer.json();
    if (turn === asked) offer(readings);
    return readings;
  } catch (error) {
    // Without a connection a word is kept as it was said and stays open.
    const reading = {words: text.trim(), outcome: "unknown", found: true, intensity: null, cups: null, means: null, ask: null, candidates: [], suggestions: []};
    if (turn === asked) offer([reading]);
    return [reading];
  }
};
let waiting = 0;
find("words").addEventListener("input", (event) => {
  clearTimeout(waiting);
  waiting = setTimeout(() => read(event.target.value), 120);
});
find("entry").addEventListener("submit", async (event) => {
  event.preventDefault();
  clearTimeout(waiting);
  const readings = await read(find("words").value);
  const sure = readings.filter((one) => choices(one).length === 1);
  for (const reading of sure) add(fresh(reading, choices(reading)[0][1]));
  const open = readings.filter((one) => !sure.includes(one));
  // What may well be a note that nobody should taste is kept at once, so that the whole table is warned.
  for (const one of open) if (one.stop) add(fresh(one, null));
  if (open.length) offer(open); else clear();
});

for (const id of data.usual) {
  const note = data.notes[id];
  find("usual").append(button(note.label, null, () => add({words: note.label.toLowerCase(), means: id, found: true, intensity: null, cups: []})));
}

draw();
// Until here Enter would send the form as a browser does and lose the words.
for (const field of find("entry").elements) field.disabled = false;
status(state.revision > sent ? say.kept_here : say.saved, state.revision > sent);
send();
const look = async () => {
  try {
    const answer = await fetch(address);
    if (!answer.ok) return;
    const now = await answer.json();
    if (now.revealed) find("late").textContent = say.late_kept;
    stopped = now.stop;
    warn();
  } catch (error) {
    // The next round tries again.
  }
};
look();
setInterval(look, 5000);
