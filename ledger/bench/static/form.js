// What the form does beyond plain HTML: it keeps a draft as one types, says what a date or a figure
// will be recorded as, and marks a doubtful glyph with a tap. Without it everything can still be
// done: Save keeps the draft, and ? and [38] can be typed.
"use strict";

const WAIT_MS = 500;

function within(node, selector) {
  return node.querySelector(selector);
}

// --- drafts ---------------------------------------------------------------------------------

function keepDrafts(form) {
  const status = within(form, "[data-kept-status]");
  const version = form.elements.namedItem("version");
  let timer = 0;
  let running = null;
  let isDirty = false;
  let isLost = false;

  function say(text, lost) {
    status.textContent = text;
    status.classList.toggle("lost", Boolean(lost));
  }

  async function send(keepalive) {
    isDirty = false;
    try {
      const body = new URLSearchParams(new FormData(form));
      const answer = await fetch(form.dataset.kept, { method: "POST", body, keepalive, redirect: "error" });
      const told = answer.headers.get("content-type").startsWith("application/json") ? await answer.json() : null;
      if (answer.ok && told) {
        version.value = told.version;
        if (!isDirty) say(told.says);
      } else {
        isLost = answer.status === 409;
        say(told ? told.says : "Not kept: you are no longer let in. Open the bench anew in another tab, then press Save here.", true);
      }
    } catch {
      isDirty = true;
      say("Not kept: the bench does not answer. Leave this page open; it is tried again as you type.", true);
    }
  }

  function keep(keepalive) {
    clearTimeout(timer);
    if (isLost) return Promise.resolve();
    running = (running || Promise.resolve()).then(() => send(keepalive));
    return running;
  }

  form.addEventListener("input", () => {
    isDirty = true;
    if (isLost) return;
    say("Typing …");
    clearTimeout(timer);
    timer = setTimeout(() => keep(false), WAIT_MS);
  });
  // A page that is closed or left sends what was typed last.
  addEventListener("pagehide", () => {
    if (isDirty && !isLost) keep(true);
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden" && isDirty && !isLost) keep(true);
  });
  // What is under way is finished before the form is sent, so that it does not meet itself.
  let isSending = false;
  form.addEventListener("submit", (event) => {
    clearTimeout(timer);
    isDirty = false;
    if (isSending || !running) return;
    event.preventDefault();
    const by = event.submitter;
    // Not before this event is over: a form that is being sent cannot be sent.
    running.finally(() => setTimeout(() => {
      isSending = true;
      form.requestSubmit(by && by.form === form ? by : undefined);
    }));
  });
}

// --- dates and figures in words -----------------------------------------------------------------

function sayWords(input) {
  const form = input.form;
  const place = within(form, `[data-words-of="${input.name}"]`);
  let timer = 0;
  let latest = 0;

  function offer(each) {
    const row = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = `Record ${each.text}`;
    button.addEventListener("click", () => {
      input.value = each.text;
      input.dispatchEvent(new Event("input", { bubbles: true }));
      input.focus();
    });
    const says = document.createElement("span");
    says.textContent = each.says;
    row.append(button, says);
    return row;
  }

  function show(told) {
    const says = document.createElement("p");
    says.textContent = told.says;
    place.replaceChildren(...(told.says ? [says] : []));
    if (told.offers.length) {
      const list = document.createElement("ul");
      list.className = "offers";
      list.append(...told.offers.map(offer));
      place.append(list);
    }
  }

  async function ask() {
    latest += 1;
    const mine = latest;
    const body = new URLSearchParams({
      form_token: form.elements.namedItem("form_token").value,
      of: input.dataset.words,
      text: input.value,
      doubt: form.elements.namedItem("uncertainty") ? form.elements.namedItem("uncertainty").value : "",
    });
    try {
      const answer = await fetch("/words", { method: "POST", body, redirect: "error" });
      if (answer.ok && mine === latest) show(await answer.json());
    } catch {
      // Without an answer there is no word on it; it is told when the form is saved.
    }
  }

  input.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, WAIT_MS);
  });
}

// --- doubtful glyphs --------------------------------------------------------------------------

function glyphsOf(text) {
  return text.match(/\[[^[\]]+\]|[^]/gu) || [];
}

function tapGlyphs(input) {
  const partners = JSON.parse(input.dataset.glyphs);
  const row = document.createElement("div");
  row.className = "glyph-row";
  row.setAttribute("role", "group");
  row.setAttribute("aria-label", "Glyph by glyph: press one that is doubtful");
  const hint = document.createElement("p");
  hint.className = "hint";
  hint.textContent = "Press a glyph that is doubtful: once for either of two, again for not readable, again to take it back.";
  // What each place was before it was called doubtful, so that pressing on brings it back.
  const first = new Map();

  function next(glyph, at) {
    if (glyph === "?") return first.get(at) || "?";
    if (glyph.length > 1) return "?";
    first.set(at, glyph);
    const other = partners[glyph];
    return other ? `[${glyph}${other[0]}]` : "?";
  }

  function words(glyph) {
    if (glyph === "?") return "cannot be read";
    return glyph.length > 1 ? `either of ${[...glyph.slice(1, -1)].join(" or ")}` : "clear";
  }

  function draw(focused) {
    const glyphs = glyphsOf(input.value);
    row.replaceChildren(
      ...glyphs.flatMap((glyph, at) => {
        if (glyph.trim() === "") return [];
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = glyph;
        button.dataset.at = at;
        button.setAttribute("aria-label", `Glyph ${at + 1}, ${glyph}: ${words(glyph)}`);
        button.classList.toggle("doubtful", glyph === "?" || glyph.length > 1);
        button.addEventListener("click", () => {
          glyphs[at] = next(glyph, at);
          input.value = glyphs.join("");
          input.dispatchEvent(new Event("input", { bubbles: true }));
          draw(at);
        });
        return [button];
      }),
    );
    hint.hidden = !row.childElementCount;
    if (focused !== undefined) {
      const button = within(row, `[data-at="${focused}"]`);
      if (button) button.focus();
    }
  }

  input.after(row, hint);
  input.addEventListener("input", (event) => {
    if (event.isTrusted) first.clear();
    if (document.activeElement === input) draw();
  });
  draw();
}

document.querySelectorAll("form[data-kept]").forEach(keepDrafts);
document.querySelectorAll("[data-words]").forEach(sayWords);
document.querySelectorAll("[data-glyphs]").forEach(tapGlyphs);
