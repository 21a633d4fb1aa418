// The tasting page. Every change is kept on the device at once and sent whole with a rising revision, until the server has it.
"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const say = data.say;
// By name, not by device: a name that was freed and taken again on this device finds what it had not sent.
const place = `tracer ${data.code} ${data.taster}`;
const address = `/table/${data.code}/mine`;
const find = (id) => document.getElementById(id);

let gone = false;
let sending = false;

// One state for each sample of the flight, each kept and sent by itself; a table of one lot is a flight of one.
const placeOf = (number) => (number ? `${place} ${number}` : place);
const stored = (number) => {
  try { return JSON.parse(localStorage.getItem(placeOf(number))); } catch (error) { return null; }
};
const states = data.samples.map((one, number) => {
  const server = {revision: one.revision, tasted: one.tasted};
  const earlier = stored(number);
  const kept = earlier && earlier.revision > server.revision ? earlier : server;
  if (!kept.tasted.language) kept.tasted.language = data.language;
  return kept;
});
const sent = data.samples.map((one) => one.revision);
// Of a blind set every taster takes the cups in an order of their own.
const order = data.order;
let at = order.find((number) => !states[number].tasted.done) ?? order[0];
let state = states[at];
const unsent = () => states.findIndex((one, number) => one.revision > sent[number]);
const filled = (text, value) => text.replace("{number}", value).replace("{mark}", value);

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
  try { localStorage.setItem(placeOf(at), JSON.stringify(state)); } catch (error) { /* the server still gets it */ }
  draw();
  if (!gone) status(say.saving, false);
  send();
};

const bodyOf = (number) => JSON.stringify({...states[number], sample: number});
const send = async () => {
  const number = unsent();
  if (gone || sending || number < 0) return;
  sending = true;
  const body = bodyOf(number);
  const revision = states[number].revision;
  let reached = false;
  try {
    const answer = await fetch(address, {method: "POST", headers: {"Content-Type": "application/json"}, body, keepalive: body.length < 60000});
    if (answer.status === 403) {
      gone = true;
      status(say.moved_away, true);
    } else if (answer.ok) {
      reached = true;
      sent[number] = Math.max(sent[number], revision);
      if (unsent() < 0) status(say.saved, false);
      if ((await answer.json()).late) late(number);
    } else {
      status(say.kept_here, true);
    }
  } catch (error) {
    status(say.kept_here, true);
  }
  sending = false;
  if (!gone && unsent() >= 0) setTimeout(send, reached ? 0 : 1500);
};
addEventListener("online", send);
addEventListener("pagehide", () => {
  states.forEach((one, number) => {
    if (!gone && one.revision > sent[number]) navigator.sendBeacon(address, new Blob([bodyOf(number)], {type: "application/json"}));
  });
});
addEventListener("storage", (event) => {
  // Another tab of the same device went on.
  const number = data.samples.findIndex((_, one) => event.key === placeOf(one));
  const other = number >= 0 ? stored(number) : null;
  if (other && other.revision > states[number].revision) {
    states[number] = other;
    if (number === at) state = other;
    draw();
  }
});
const lates = data.samples.map((one) => one.late);
const late = (number) => {
  lates[number] = true;
  find("late").textContent = lates[at] ? say.late_kept : "";
};

const noteOf = (note) => (note.means ? data.notes[note.means] : null);

const add = (note) => {
  // A word that was kept open and is settled now stays one note.
  const same = state.tasted.notes.find((one) => one.words === note.words && (one.means === note.means || !one.means));
  if (!same) state.tasted.notes.push(note);
  else {
    if (note.means) same.means = note.means;
    // Said again with its cups: they are taken.
    if (note.cups.length || note.how_many || note.share) Object.assign(same, {cups: note.cups, how_many: note.how_many, share: note.share});
    if (note.intensity) same.intensity = note.intensity;
  }
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
        note.how_many = note.share = null;
        changed();
      }, `${say.cup} ${cup}`));
    }
    const every = note.cups.length === data.cups;
    cups.append(button(say.all_cups, every, () => {
      note.cups = every ? [] : Array.from({length: data.cups}, (_, i) => i + 1);
      note.how_many = note.share = null;
      changed();
    }));
    const told = note.how_many === 1 ? say.one_cup : note.how_many ? filled(say.cups_count, note.how_many) : note.share ? say[`share_${note.share}`] : "";
    if (told && !note.cups.length) item.append(make("p", {className: "small said", textContent: `${told}. ${say.which_cups}`}));
    if (!data.blind_set) item.append(cups);
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
  const pressed = inCard >= 0 ? Array.from(cards[inCard].querySelectorAll("button")).indexOf(held) : -1;
  const drawn = state.tasted.notes.map(card);
  find("notes").replaceChildren(...(drawn.length ? drawn : [make("li", {textContent: say.no_notes_yet})]));
  if (pressed >= 0 && drawn[inCard]) {
    const again = drawn[inCard].querySelectorAll("button")[pressed];
    if (again) again.focus();
  }
  find("all").checked = state.tasted.checked_all;
  find("done").checked = state.tasted.done;
  find("late").textContent = lates[at] ? say.late_kept : "";
  flight();
  warn();
};

// The samples in their order, each with whether it is done; going from one to the next needs no connection.
const go = (number) => {
  at = number;
  state = states[at];
  find("undo").replaceChildren();
  clear();
  draw();
  scrollTo(0, 0);
};
const flight = () => {
  if (data.samples.length < 2 && !find("samples")) return;
  const tabs = order.map((number) => {
    const one = data.samples[number];
    const {done, notes} = states[number].tasted;
    const how = done ? say.sample_done : notes.length ? say.sample_begun : "";
    const tab = button(`${one.mark}${done ? " ✓" : notes.length ? " …" : ""}`, null, () => go(number), `${filled(say.sample_mark, one.mark)}${how ? `, ${how}` : ""}`);
    if (number === at) tab.setAttribute("aria-current", "true");
    return tab;
  });
  const held = find("samples").contains(document.activeElement);
  find("samples").replaceChildren(...tabs);
  if (held) tabs[order.indexOf(at)].focus();
  find("mark").textContent = filled(say.sample_mark, data.samples[at].mark);
  find("onward").hidden = at === order[order.length - 1];
};

// One taster's alarm stops the whole table, without telling what was noted.
// A word that may well mean such a note stops as well, until it is settled.
let stopped = false;
let doubtful = false;
const alarms = new Set(data.alarms);
let reader = phraseReader(data.offline);
// All words of the taster's language that stop come with the page; all others after it, so that the first screen is light.
let whole = false;
const learn = async () => {
  if (whole) return;
  try {
    const answer = await fetch(data.offline_whole);
    if (!answer.ok) return;
    reader = phraseReader(await answer.json());
    whole = true;
    document.documentElement.dataset.words = "all";
    warn();
  } catch (error) {
    // The next round tries again.
  }
};
const warn = () => {
  const own = doubtful || states.flatMap((one) => one.tasted.notes).some((one) => one.found && (noteOf(one) ? noteOf(one).stop : alarms.has(one.words) || reader.stops(one.words)));
  const stop = find("stop");
  const text = own ? ` ${data.stop}` : stopped ? ` ${say.somebody_stopped} ${data.stop}` : "";
  if (stop.dataset.text === text) return;
  stop.dataset.text = text;
  const somebody = own ? "" : ` ${say.somebody_stopped}`;
  stop.replaceChildren(...(text ? [make("div", {className: "caution stop"}, make("strong", {textContent: say.stop_title}), `${somebody} `,
    make("span", {lang: data.stop_language, textContent: data.stop}))] : []));
};

for (const [id, field] of [["all", "checked_all"], ["done", "done"]]) {
  find(id).addEventListener("change", (event) => { state.tasted[field] = event.target.checked; changed(); });
}

const fresh = (reading, means) => ({
  words: reading.words, means, found: reading.found, intensity: reading.intensity,
  ...cupsOf(reading),
});
const cupsOf = (reading) => {
  // What was typed counts: all cups, these cups, so many, or a share.
  const every = Array.from({length: data.cups}, (_, i) => i + 1);
  if (reading.cups === -1 || (reading.cups || 0) >= data.cups) return {cups: every, how_many: null, share: null};
  const which = every.filter((cup) => (reading.which || []).includes(cup));
  return {cups: which, how_many: !which.length && reading.cups > 0 ? reading.cups : null, share: reading.share || null};
};
const clear = () => { doubtful = false; warn(); find("words").value = ""; grow(); find("found").replaceChildren(); find("words").focus(); };
// The line typed into grows to hold it all, and stays above a keyboard that covers the page.
const grow = () => {
  const line = find("words");
  line.style.height = "auto";
  line.style.height = `${line.scrollHeight + line.offsetHeight - line.clientHeight}px`;
};
const fit = () => {
  const seen = window.visualViewport;
  const root = document.documentElement;
  root.style.setProperty("--seen", `${seen.height}px`);
  root.style.setProperty("--above", `${seen.offsetTop}px`);
  root.style.setProperty("--below", `${Math.max(0, innerHeight - seen.height - seen.offsetTop)}px`);
  root.classList.toggle("short", seen.height < 512);
};
// The warning above and the entry below share the height that is seen: what is asked and typed first, the warning gets the rest and its heading always.
const strip = document.querySelector(".strip");
const shared = new ResizeObserver(() => {
  const root = document.documentElement;
  root.style.setProperty("--typed", `${find("entry").querySelector(".line").offsetHeight}px`);
  root.style.setProperty("--entry", `${find("entry").offsetHeight}px`);
  // What has to be scrolled to be read can be scrolled by keys as well.
  if (strip.scrollHeight > strip.clientHeight + 1) strip.tabIndex = 0; else strip.removeAttribute("tabindex");
});
for (const one of [strip, find("stop"), find("entry"), find("entry").querySelector(".line")]) shared.observe(one);
if (window.visualViewport) {
  for (const moved of ["resize", "scroll"]) visualViewport.addEventListener(moved, fit);
  fit();
}

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
  doubtful = readings.some((one) => one.stop);
  for (const one of readings) if (one.stop && !one.means) alarms.add(one.words);
  warn();
  // One question at a time, so that its answers are in sight; what is plain stands below it, all in one row.
  const open = readings.filter((one) => choices(one).length > 1);
  const plain = readings.filter((one) => !open.includes(one));
  const row = (shown, kind) => {
    const made = make("div", {className: `chips ${kind}`});
    for (const reading of shown) {
      for (const [text, means] of choices(reading)) {
        made.append(button(text, null, () => {
          add(fresh(reading, means));
          const left = readings.filter((one) => one !== reading);
          if (left.length) offer(left); else clear();
        }));
      }
    }
    return made;
  };
  if (open.length) {
    const [reading] = open;
    const question = reading.ask || (reading.outcome === "unknown" && reading.suggestions.length ? `${say.did_you_mean}:` : "");
    const count = open.length > 1 ? `1/${open.length} ` : "";
    if (question || count) parts.push(make("p", {className: "small", textContent: `${count}“${reading.words}” ${question}`}));
    parts.push(row([reading], "open"));
  }
  if (plain.length) parts.push(row(plain, "plain"));
  find("found").replaceChildren(...parts);
  find("found").scrollTop = 0;
};
const read = async (text) => {
  const turn = ++asked;
  if (!text.trim()) { doubtful = false; warn(); find("found").replaceChildren(); return []; }
  try {
    const query = new URLSearchParams({text, language: state.tasted.language, cups: data.cups});
    const answer = await fetch(`/words?${query}`);
    if (!answer.ok) throw new Error(String(answer.status));
    const readings = await answer.json();
    if (turn === asked) offer(readings);
    return readings;
  } catch (error) {
    // Without a connection the phone reads by the words it has; what it does not know is kept as it was said.
    const readings = reader.read(text);
    if (turn === asked) offer(readings);
    return readings;
  }
};
let waiting = 0;
find("words").addEventListener("input", (event) => {
  clearTimeout(waiting);
  grow();
  // What stops tasting is known here, before anything is asked of the server.
  if (reader.stops(event.target.value)) { doubtful = true; warn(); }
  waiting = setTimeout(() => read(event.target.value), 120);
});
find("words").addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.isComposing) return;
  event.preventDefault();
  find("entry").requestSubmit();
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
  find("usual").append(button(note.label, null, () => add({words: note.label.toLowerCase(), means: id, found: true, intensity: null, cups: [], how_many: null, share: null})));
}

if (find("onward")) find("onward").addEventListener("click", () => go(order[Math.min(order.indexOf(at) + 1, order.length - 1)]));
draw();
// Until here Enter would send the form as a browser does and lose the words.
for (const field of find("entry").elements) field.disabled = false;
status(unsent() >= 0 ? say.kept_here : say.saved, unsent() >= 0);
send();
const look = async () => {
  try {
    const answer = await fetch(address);
    if (!answer.ok) return;
    const now = await answer.json();
    for (const number of now.revealed) late(number);
    stopped = now.stop;
    warn();
  } catch (error) {
    // The next round tries again.
  }
};
learn();
look();
setInterval(() => { learn(); look(); }, 5000);
