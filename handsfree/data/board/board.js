"use strict";
// The board's page: it shows what the stream brings, and sends what is typed. It keeps nothing of
// its own; everything is put in as text, never as markup.

const KEPT = 200, SILENCE = 40000, DELAYS = [250, 500, 1000, 2000];
const at = (id) => document.getElementById(id);
const body = document.body;
let run = "", after = 0, right = "", ahead = 0, timers = [], stream = null, tries = 0, paper = "";

function pass() {
  return location.hash.slice(1) || sessionStorage.getItem("pass") || "";
}

function put(id, text) {
  const element = at(id);
  if (element.textContent !== text) element.textContent = text;
}

function made(name, text, className) {
  const element = document.createElement(name);
  if (text) element.textContent = text;
  if (className) element.className = className;
  return element;
}

// ---- what is shown

function showGlance(g) {
  ahead = Date.now() / 1000 - g.now;
  at("caution").hidden = !g.caution;
  put("caution-text", g.caution);
  at("balloon").hidden = !g.step;
  put("balloon-number", g.step ? String(g.step) : "");
  put("balloon-of", g.step ? " of " + g.steps : "");
  put("sentence", g.paused ? "Paused." : g.sentence || "Nothing is open.");
  at("check").hidden = !g.check || g.paused;
  put("check", g.check);
  at("question").hidden = !g.question;
  put("question", g.question);
  put("figure", g.number || "none yet");
  at("number").classList.toggle("none", !g.number);
  put("unit", g.unit);
  at("number").style.setProperty("--letters", g.number.length + g.unit.length / 2 + 1);
  put("heard", g.heard);
  put("job", g.job);
  put("stage", g.stage || "–");
  put("procedure", g.procedure || "None open");
  put("place", g.step ? g.step + " of " + g.steps : "–");
  put("joints", String(g.joints));
  put("worker", g.worker || "–");
  put("states", g.states.join(", ") || "–");
  put("parked", g.parked.join(", ") || "–");
  put("read", g.read.map((one) => one.name + " " + one.text).join(", ") || "–");
  showJoints(g.made, g.joints);
  showSayings(g.sayings);
  timers = g.timers;
  showTimers();
  document.title = g.step ? g.step + "/" + g.steps + " " + g.procedure : g.job || "Board";
  if (g.held) link("Not saved: the record cannot be written. Free the disk.");
  else link("");
}

function showSayings(sayings) {
  const list = at("sayings"), key = JSON.stringify([sayings, right]);
  if (list.dataset.key === key) return;
  list.dataset.key = key;
  const held = list.contains(document.activeElement);
  list.replaceChildren(...sayings.map((saying) => {
    const item = made("li");
    if (saying.how !== "said") {
      const button = made("button", saying.text, saying.how);
      button.type = "button";
      button.disabled = right !== "type";
      button.addEventListener("click", () => say(saying.text));
      item.append(button);
    } else {
      item.append(made("span", saying.text, "spoken"));
    }
    return item;
  }));
  if (held) (list.querySelector("button") || at("words")).focus();
}

const LOOKED = { yes: "inspected", accepted: "accepted outside its limit", no: "not inspected" };

function showJoints(joints, all) {
  const list = at("made"), key = JSON.stringify([joints, all]);
  if (list.dataset.key === key) return;
  list.dataset.key = key;
  const state = (text, good) => made("li", text, good ? "good" : "open");
  const items = joints.map((joint) => {
    const item = made("li"), states = made("ul", "", "states");
    states.append(state(LOOKED[joint.inspected], joint.inspected === "yes"));
    if (joint.torque) states.append(state(joint.torque, true));
    states.append(joint.tested ? state("tested", true) : state("not tested", false));
    item.append(made("span", String(joint.number), "balloon"), made("span", joint.kind, "kind"), states);
    return item;
  });
  if (all > joints.length) items.push(made("li", "and " + (all - joints.length) + " before, in the record", "none"));
  list.replaceChildren(...items);
  at("joints-list").hidden = !items.length;
}

function showTimers() {
  const list = at("timers"), now = Date.now() / 1000 - ahead;
  const known = list.dataset.names === timers.map((one) => one.name).join("\n");
  if (!known) {
    list.dataset.names = timers.map((one) => one.name).join("\n");
    const items = timers.map((one) => {
      const item = made("li");
      item.append(made("span", one.name), made("time"));
      return item;
    });
    list.replaceChildren(...(items.length ? items : [made("li", "None running", "none")]));
  }
  timers.forEach((one, i) => {
    const left = Math.max(0, Math.ceil(one.ends - now)), item = list.children[i];
    const hours = Math.floor(left / 3600), minutes = Math.floor(left / 60) % 60;
    const clock = (hours ? hours + ":" + String(minutes).padStart(2, "0") : minutes) +
      ":" + String(left % 60).padStart(2, "0");
    item.lastChild.textContent = left ? clock : "over";
    item.classList.toggle("over", !left);
  });
}

function showDrawing(svg) {
  if (svg === paper) return;
  paper = svg;
  const holder = at("paper"), old = holder.querySelector("img");
  if (old) URL.revokeObjectURL(old.src);
  holder.classList.toggle("hatched", !svg);
  if (!svg) { holder.replaceChildren(); return; }
  const image = made("img"), button = made("button"), texts = new DOMParser().parseFromString(svg, "image/svg+xml");
  image.alt = "Drawing of the piece: " +
    [...texts.querySelectorAll("text")].map((one) => one.textContent).join("; ");
  image.src = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  button.type = "button";
  button.ariaExpanded = "false";
  button.addEventListener("click", () => {
    button.ariaExpanded = button.ariaExpanded === "true" ? "false" : "true";
  });
  button.append(image);
  holder.replaceChildren(button);
}

const WHO = { heard: "heard", typed: "typed", said: "", warned: "warning" };

// The last line stays in sight, unless somebody has scrolled back to read.
let last = true;
at("lines").addEventListener("scroll", () => {
  const list = at("lines");
  last = list.scrollHeight - list.scrollTop - list.clientHeight < 40;
});

function toLast() {
  if (last) at("lines").scrollTop = at("lines").scrollHeight;
}

new ResizeObserver(toLast).observe(at("lines"));

function showLines(lines) {
  const list = at("lines");
  for (const line of lines) {
    const item = made("p", "", line.who + "-line");
    item.append(made("span", line.text));
    if (WHO[line.who]) item.append(" ", made("span", WHO[line.who], "who"));
    list.append(item);
    after = line.n;
  }
  while (list.children.length > KEPT) list.firstChild.remove();
  toLast();
}

function link(text) {
  put("link", text);
}

// ---- the stream

const TAKES = {
  hello(it) {
    if (it.run !== run || !it.after) { at("lines").replaceChildren(); after = 0; }
    run = it.run;
    right = it.right;
    body.classList.toggle("looking", right !== "type");
    body.classList.remove("lost");
    link("");
    tries = 0;
  },
  glance: showGlance,
  drawing: showDrawing,
  lines: showLines,
  beat(now) { ahead = Date.now() / 1000 - now; },
};

function take(text) {
  const [, name, content] = /^event: (\w+)\ndata: (.*)$/s.exec(text) || [];
  if (name in TAKES) TAKES[name](JSON.parse(content));
}

async function follow() {
  if (stream || document.hidden) return;
  if (!pass()) { askForCode("Type the six figures that the terminal shows."); return; }
  const mine = stream = new AbortController();
  let quiet = 0, wait = true;
  const alive = () => { clearTimeout(quiet); quiet = setTimeout(() => mine.abort(), SILENCE); };
  try {
    alive();
    const answer = await fetch(`/events?run=${run}&after=${after}`, {
      headers: { Authorization: "Bearer " + pass() }, signal: mine.signal, cache: "no-store",
    });
    if (answer.status === 401) {
      wait = false;
      sessionStorage.removeItem("pass");
      askForCode("This address has no pass, or an old one. Take the address from the terminal, " +
        "or type the six figures that it shows.");
      return;
    }
    if (!answer.ok) throw new Error(await answer.text());
    showBoard();
    const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
    for (let rest = "";;) {
      const { value, done } = await reader.read();
      if (done) break;
      alive();
      const parts = (rest + value).split("\n\n");
      rest = parts.pop();
      parts.forEach(take);
    }
  } catch (error) {
    if (document.hidden) wait = false;
  } finally {
    clearTimeout(quiet);
    if (stream === mine) stream = null;
    if (wait) {
      body.classList.add("lost");
      link("No connection: what stands here may be old. Is handsfree running?");
      setTimeout(follow, DELAYS[Math.min(tries++, DELAYS.length - 1)]);
    }
  }
}

// A browser keeps few connections to one place: only windows that can be seen hold one.
document.addEventListener("visibilitychange", () => {
  if (document.hidden) { if (stream) stream.abort(); stream = null; } else follow();
});
addEventListener("hashchange", () => location.reload());
setInterval(showTimers, 500);

// ---- what is typed

async function send(path, content) {
  return fetch(path, {
    method: "POST", cache: "no-store", body: JSON.stringify(content),
    headers: { "Content-Type": "application/json", Authorization: "Bearer " + pass() },
  });
}

async function say(text) {
  put("refused", "");
  try {
    const answer = await send("/say", { text });
    if (!answer.ok) put("refused", await answer.text());
    return answer.ok;
  } catch (error) {
    put("refused", "Not sent: there is no connection.");
    return false;
  }
}

at("form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const words = at("words"), text = words.value.trim();
  if (!text) return;
  words.value = "";
  if (!(await say(text)) && !words.value) words.value = text;
});

// A link would change the address, and with it the pass.
at("past").addEventListener("click", () => at("words").focus());

// ---- pairing

function askForCode(why) {
  at("sheet").hidden = true;
  at("pairing").hidden = false;
  put("pairing-why", why);
  at("code").focus();
}

function showBoard() {
  at("sheet").hidden = false;
  at("pairing").hidden = true;
}

at("pairing").firstElementChild.addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    const answer = await send("/pair", { code: at("code").value.trim() });
    if (!answer.ok) { put("pairing-fault", await answer.text()); return; }
    sessionStorage.setItem("pass", (await answer.json()).pass);
    if (location.hash) location.hash = "";
    else follow();
  } catch (error) {
    put("pairing-fault", "Not sent: there is no connection.");
  }
});

follow();
