// The house drawing answers at once: switching the operating case moves arrows and figures from one
// state to the next, and the lever of a damper can be turned. Without this script the same is done
// by the buttons. Nothing is kept here.
"use strict";
(() => {
  const house = document.getElementById("house");
  if (!house) return;
  const narrow = matchMedia("(max-width: 58rem)");
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const LONG = 350; // ms of a change
  const SHORT = 90; // while a lever is turned
  house.classList.add("live");

  // ---- From one drawing to the next: elements that stay are moved, none is made anew. ----
  const MOVED = new Set(["d", "transform", "x", "y", "cx", "cy", "width", "height", "viewBox"]);
  const NUMBER = /[-−+]?\d+(?:\.\d+)?/g;
  let moves = [];
  let turning = null; // the lever that is being turned
  let wish = null; // what is to be asked for next
  let frame = 0;

  const shape = (text) => text.replace(NUMBER, "#");
  const numbers = (text) => (text.match(NUMBER) || []).map((one) => Number(one.replace("−", "-")));
  const between = (from, to, part) => {
    const start = numbers(from);
    let place = 0;
    return to.replace(NUMBER, (end) => {
      const [a, b] = [start[place++], Number(end.replace("−", "-"))];
      if (a === b) return end;
      const digits = (/\.(\d+)/.exec(end) || ["", ""])[1].length;
      const now = (a + (b - a) * part).toFixed(digits);
      const signed = /^[-−]/.test(now) ? now.replace("-", end.includes("−") || /[^\d.-]/.test(end) ? "−" : "-") : now;
      return end.startsWith("+") && !/^[-−]/.test(signed) ? `+${signed}` : signed;
    });
  };
  const step = (time) => {
    frame = 0;
    moves = moves.filter((move) => {
      move.begun ??= time;
      const part = Math.min(1, (time - move.begun) / move.long);
      const eased = part * (2 - part);
      move.set(part < 1 ? between(move.from, move.to, eased) : move.to);
      return part < 1;
    });
    if (moves.length) frame = requestAnimationFrame(step);
  };
  const move = (key, owner, from, to, set) => {
    moves = moves.filter((other) => other.owner !== owner || other.key !== key);
    if (still.matches || !from || shape(from) !== shape(to)) return set(to);
    moves.push({ key, owner, from, to, set, long: turning ? SHORT : LONG });
    frame ||= requestAnimationFrame(step);
  };
  const marks = new WeakMap();
  const mark = (element) => {
    element.classList.add("changed");
    clearTimeout(marks.get(element));
    marks.set(element, setTimeout(() => element.classList.remove("changed"), 900));
  };

  const own = (element, name) =>
    (element.classList.contains("lever") && /^(role|tabindex|aria-)/.test(name))
    || (name === "class" && marks.has(element))
    // What is under the finger, or was turned on since this was asked for, stays as it is.
    || ((wish || turning?.contains(element)) && element.closest?.(".lever") && (name === "transform" || name === "data-angle"));

  const attributes = (now, next) => {
    for (const { name } of [...now.attributes]) {
      if (!next.hasAttribute(name) && !own(now, name)) now.removeAttribute(name);
    }
    for (const { name, value } of next.attributes) {
      if (own(now, name) || now.getAttribute(name) === value) continue;
      // A change that is under way goes on from where it is.
      if (MOVED.has(name) && now instanceof SVGElement) {
        move(name, now, now.getAttribute(name), value, (text) => now.setAttribute(name, text));
      } else now.setAttribute(name, value);
    }
    if (now instanceof HTMLInputElement && !wish) {
      if (now.type === "radio") now.checked = next.hasAttribute("checked");
      else if (now !== document.activeElement) now.value = next.getAttribute("value") ?? "";
    }
  };
  const same = (one, other) => one && one.nodeType === other.nodeType && one.nodeName === other.nodeName
    && (one.id ?? "") === (other.id ?? "");
  const children = (now, next) => {
    const named = new Map([...now.children].filter((one) => one.id).map((one) => [one.id, one]));
    let place = now.firstChild;
    for (const wanted of [...next.childNodes]) {
      let here = wanted.id ? named.get(wanted.id) : null;
      if (!here && same(place, wanted)) here = place;
      if (here && same(here, wanted)) {
        if (here === place) place = place.nextSibling;
        else now.insertBefore(here, place);
        morph(here, wanted);
      } else {
        const fresh = document.importNode(wanted, true);
        now.insertBefore(fresh, place);
        if (fresh.id && fresh.classList.contains("figure")) mark(fresh);
      }
    }
    while (place) {
      const gone = place;
      place = place.nextSibling;
      gone.remove();
    }
  };
  const morph = (now, next) => {
    if (now.nodeType === Node.TEXT_NODE) {
      if (now.data === next.data) return;
      const figure = now.parentElement.closest(".figure");
      if (figure) mark(figure);
      return move("data", now, now.data, next.data, (text) => { now.data = text; });
    }
    attributes(now, next);
    children(now, next);
  };

  // ---- Asking: one request at a time, and the latest wish wins. ----
  let asking = false;
  let leaving = false;
  const form = () => document.getElementById("switches");
  const wanted = () => new URLSearchParams(new FormData(form()));
  const format = () => (narrow.matches ? "narrow" : "wide");

  const ask = async (query) => {
    wish = query;
    if (asking || leaving) return;
    asking = true;
    while (wish && !leaving) {
      const mine = wish;
      wish = null;
      const fields = new URLSearchParams(mine);
      fields.set("version", house.dataset.version);
      fields.set("format", format());
      let next;
      try {
        const answer = await fetch(`${house.dataset.part}?${fields}`);
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        next = page.getElementById("house");
        if (!next) {
          refuse(page.querySelector("main p")?.textContent ?? "The workspace gave no answer.");
          continue;
        }
      } catch {
        refuse("The workspace does not answer. Is it still running?");
        continue;
      }
      next.classList.add("live");
      // The other format was not asked for and stays; it is asked for when it is shown.
      const [old, fresh] = [house, next].map((one) => one.querySelector("figure"));
      for (const sheet of old.querySelectorAll(".sheet")) {
        if (fresh.querySelector(`.sheet.${sheet.classList[1]}`)) continue;
        fresh.insertBefore(sheet.cloneNode(true), fresh.querySelector("figcaption"));
      }
      fresh.prepend(...fresh.querySelectorAll(".sheet.across"));
      morph(house, next);
      prepare();
    }
    asking = false;
  };
  const refuse = (words) => {
    let place = house.querySelector(".refused");
    if (!place) {
      place = document.createElement("p");
      place.className = "refused alarm";
      place.setAttribute("role", "alert");
      house.prepend(place);
    }
    place.textContent = words;
  };

  // Bands come later.
  let looks = 0;
  let waiting = 0;
  const prepare = () => {
    for (const lever of house.querySelectorAll(".lever")) dress(lever);
    const pending = house.dataset.pending !== undefined;
    const table = document.querySelector("#cases[data-pending]");
    clearTimeout(waiting);
    if (!(pending || table) || looks > 40) return;
    waiting = setTimeout(async () => {
      if (leaving) return;
      looks += 1;
      if (table) {
        const answer = await fetch(location.href).catch(() => null);
        const page = answer?.ok && new DOMParser().parseFromString(await answer.text(), "text/html");
        const next = page && page.getElementById("cases");
        if (next) morph(table, next);
      }
      if (pending && !turning && !asking) await ask(wanted());
      else prepare();
    }, 150 + 50 * looks);
  };
  const changed = (remember, quick) => {
    looks = 0;
    const query = wanted();
    if (remember) history.pushState(null, "", `?${query}`);
    else history.replaceState(null, "", `?${query}`);
    // While a lever is turned nobody waits for bands.
    if (quick) query.set("quick", "1");
    return ask(query);
  };

  house.addEventListener("change", (event) => {
    if (event.target.form === form()) changed(true);
  });
  house.addEventListener("submit", (event) => {
    if (event.target !== form()) {
      // The page is left: what it would ask for belongs to a version that is past.
      leaving = true;
      return;
    }
    event.preventDefault();
    changed(true);
  });
  addEventListener("pageshow", () => { leaving = false; });
  addEventListener("popstate", () => {
    looks = 0;
    const query = new URLSearchParams(location.search);
    ask(query);
  });
  narrow.addEventListener("change", () => ask(wanted()));

  // ---- Levers: dragged, or turned by keys. ----
  const field = (lever) => document.getElementById(`${lever.dataset.damper}_damper`);
  const pair = (text) => text.split(" ").map(Number);
  const words = (angle) => {
    const how = angle <= 0.5 ? "open" : angle >= 89.5 ? "shut" : "part closed";
    return `${Number(angle.toFixed(1))} degrees, ${how}`;
  };
  const dress = (lever) => {
    if (lever === turning) return;
    lever.setAttribute("role", "slider");
    lever.setAttribute("tabindex", "0");
    lever.setAttribute("aria-label", lever.dataset.damper === "supply" ? "Supply damper" : "Extract damper");
    lever.setAttribute("aria-valuemin", "0");
    lever.setAttribute("aria-valuemax", "90");
    lever.setAttribute("aria-valuenow", lever.dataset.angle);
    lever.setAttribute("aria-valuetext", words(Number(lever.dataset.angle)));
  };
  const turn = (lever, angle) => {
    const at = Math.min(90, Math.max(0, Math.round(angle)));
    const [along, side] = [pair(lever.dataset.along), pair(lever.dataset.side)];
    const sense = along[0] * side[1] - along[1] * side[0];
    const blade = lever.querySelector(".turns");
    moves = moves.filter((other) => other.owner !== blade);
    blade.setAttribute("transform", `rotate(${sense * at} ${lever.dataset.pivot})`);
    lever.dataset.angle = at;
    lever.setAttribute("aria-valuenow", at);
    lever.setAttribute("aria-valuetext", words(at));
    if (Number(field(lever).value) === at) return;
    field(lever).value = at;
    changed(false, true);
  };
  const pointed = (lever, event) => {
    const svg = lever.ownerSVGElement;
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.firstElementChild
      && lever.parentNode.getScreenCTM().inverse());
    const [px, py] = pair(lever.dataset.pivot);
    const [along, side] = [pair(lever.dataset.along), pair(lever.dataset.side)];
    const [x, y] = [place.x - px, place.y - py];
    return Math.atan2(x * side[0] + y * side[1], x * along[0] + y * along[1]) * 180 / Math.PI;
  };
  let grip = 0; // the lever stays under the finger where it was taken
  house.addEventListener("pointerdown", (event) => {
    const lever = event.target.closest(".lever");
    if (!lever || event.button !== 0) return;
    event.preventDefault();
    lever.focus({ preventScroll: true });
    turning = lever;
    grip = Number(lever.dataset.angle) - pointed(lever, event);
    if (Math.abs(grip) > 40) grip = 0;
    lever.setPointerCapture(event.pointerId);
    lever.classList.add("turning");
    // The first step of a drag is a place to come back to.
    history.pushState(null, "", location.href);
  });
  house.addEventListener("pointermove", (event) => {
    if (turning) turn(turning, pointed(turning, event) + grip);
  });
  const release = () => {
    if (!turning) return;
    turning.classList.remove("turning");
    turning = null;
    ask(wanted());
  };
  house.addEventListener("pointerup", release);
  house.addEventListener("pointercancel", release);
  house.addEventListener("keydown", (event) => {
    const lever = event.target.closest?.(".lever");
    if (!lever) return;
    const now = Number(lever.dataset.angle);
    const to = {
      ArrowRight: now + 1, ArrowUp: now + 1, ArrowLeft: now - 1, ArrowDown: now - 1,
      PageUp: now + 10, PageDown: now - 10, Home: 0, End: 90,
    }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    turn(lever, to);
  });

  prepare();
})();
