// Things on a wall are dragged with a finger, a mouse or the arrow keys. The server says what that
// would mean; one question is on its way at a time, and the last one counts. Nothing is kept before
// "Keep" is pressed, and everything works by the forms without this script.
"use strict";
(() => {
  const place = () => document.getElementById("wall");
  if (!place()) return;

  const grips = () => [...place().querySelectorAll("a.grip")];
  const grip = (what) => grips().find((one) => one.dataset.what === what);
  const numbers = (text) => text.split(" ").map(Number);

  // How metres become units of the drawing, and where the pointer is in metres.
  const frame = () => {
    const group = place().querySelector("svg .frame");
    return { group, scale: +group.dataset.scale, left: +group.dataset.left, base: +group.dataset.base };
  };
  const metres = (event) => {
    const { group, scale, left, base } = frame();
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(group.getScreenCTM().inverse());
    return [(at.x - left) / scale, (base - at.y) / scale];
  };

  // What is moved now: its word, where it is kept on the drawing, where it is wanted.
  let held = null;
  let asking = false;
  let wanted = null;
  // What was asked before something else was chosen does not count.
  let turn = 0;

  const hold = (one) => {
    const [s, z] = numbers(one.dataset.at);
    const [left, low, right, high] = numbers(one.dataset.range);
    held = { what: one.dataset.what, from: [s, z], to: [s, z], low: [left, low], high: [right, high] };
  };

  // On whole marks of the tape, and no further than it may go.
  const move = (to) => {
    const mark = +place().dataset.mark;
    held.to = to.map((value, axis) => {
      const whole = held.low[axis] === held.high[axis] ? value : Math.round(value / mark) * mark;
      return Math.min(Math.max(whole, held.low[axis]), held.high[axis]);
    });
    show();
  };

  const show = () => {
    const one = held && grip(held.what);
    if (!one) return;
    const { scale } = frame();
    const [s, z] = numbers(one.dataset.at);
    one.setAttribute("transform", `translate(${(held.to[0] - s) * scale} ${(z - held.to[1]) * scale})`);
    place().querySelectorAll(`[data-of="${held.what}"], .dimensions, .extension`).forEach((part) => part.classList.add("left-behind"));
  };

  const fields = (more) => new URLSearchParams({
    version: place().dataset.version, what: held ? held.what : "", part: "1", ...more,
  });

  const read = async (answer) => new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("wall");

  // While something is dragged only the layers that follow from it change, so that nothing else jumps.
  const LAYERS = [".areas", ".reaches", ".spans", ".say"];
  const follow = (next) => {
    const [old, fresh] = [place(), next].map((one) => one.querySelector("svg .frame"));
    if (old && fresh && old.dataset.scale === fresh.dataset.scale) {
      for (const layer of LAYERS) {
        const [a, b] = [old, fresh].map((one) => one.querySelector(layer));
        if (a && b) a.replaceWith(document.importNode(b, true));
      }
    }
    unfold(next);
    place().querySelector(".panel").replaceWith(document.importNode(next.querySelector(".panel"), true));
  };

  // What was folded out stays so.
  const folds = (of) => [...of.querySelectorAll("details[data-stays]")];
  const unfold = (next) => {
    const open = folds(place()).filter((one) => one.open).map((one) => one.dataset.stays);
    for (const one of folds(next)) one.open = open.includes(one.dataset.stays);
  };

  const replace = (next, focus) => {
    unfold(next);
    const board = place().querySelector(".board");
    const [left, top] = board ? [board.scrollLeft, board.scrollTop] : [0, 0];
    place().replaceWith(document.importNode(next, true));
    const fresh = place().querySelector(".board");
    if (fresh) [fresh.scrollLeft, fresh.scrollTop] = [left, top];
    if (focus) grip(focus)?.focus({ preventScroll: true });
  };

  const ask = async () => {
    if (asking || !wanted) return;
    const { fields: body, done, focus } = wanted;
    const mine = turn;
    wanted = null;
    asking = true;
    try {
      const answer = await fetch(place().dataset.address, { method: "POST", body });
      if (answer.headers.get("content-type")?.startsWith("text/html")) {
        const next = await read(answer);
        if (mine !== turn) {
          // Something else is shown by now.
        } else if (next && held && !done) {
          follow(next);
        } else if (next && !wanted && !dragging) {
          replace(next, focus);
          held = null;
        }
        if (held) show();
      }
    } catch {
      // The forms still work, and say what is wrong.
    }
    asking = false;
    if (wanted) ask();
  };

  const look = (done, focus) => {
    wanted = { fields: fields({ do: "look", point: held.to.join(" ") }), done, focus };
    ask();
  };

  const choose = async (address, focus) => {
    turn += 1;
    wanted = null;
    const mine = turn;
    const url = new URL(address, location.href);
    history.replaceState(null, "", url);
    url.searchParams.set("part", "1");
    try {
      const next = await read(await fetch(url));
      if (next && mine === turn) replace(next, focus);
    } catch {
      location.assign(address);
    }
  };

  // Of several things within reach of the finger the one whose middle is nearest.
  const nearest = (event) => {
    const far = (one) => {
      const box = one.querySelector(".hit").getBoundingClientRect();
      const inside = event.clientX >= box.left && event.clientX <= box.right
        && event.clientY >= box.top && event.clientY <= box.bottom;
      const middle = [box.left + box.width / 2, box.top + box.height / 2];
      return inside ? Math.hypot(event.clientX - middle[0], event.clientY - middle[1]) : Infinity;
    };
    const [first] = grips().map((one) => [far(one), one]).sort((a, b) => a[0] - b[0]);
    return first && first[0] < Infinity ? first[1] : null;
  };

  let dragging = null;
  let dragged = false;

  addEventListener("pointerdown", (event) => {
    if (!event.isPrimary || event.button || dragging || !event.target.closest?.("#wall a.grip")) return;
    const one = nearest(event) || event.target.closest("a.grip");
    hold(one);
    const at = metres(event);
    dragging = { pointer: event.pointerId, off: [held.to[0] - at[0], held.to[1] - at[1]], x: event.clientX, y: event.clientY };
    dragged = false;
    place().querySelector(".board").setPointerCapture(event.pointerId);
  });

  addEventListener("pointermove", (event) => {
    if (!dragging || event.pointerId !== dragging.pointer) return;
    if (!dragged && Math.hypot(event.clientX - dragging.x, event.clientY - dragging.y) < 5) return;
    dragged = true;
    place().classList.add("dragging");
    const at = metres(event);
    move([at[0] + dragging.off[0], at[1] + dragging.off[1]]);
    look(false);
  });

  const drop = (event) => {
    if (!dragging || event.pointerId !== dragging.pointer) return;
    dragging = null;
    place().classList.remove("dragging");
    if (dragged && event.type === "pointerup") {
      look(true, held.what);
    } else if (dragged) {
      choose(`${place().dataset.address}?at=${held.what}`);
      held = null;
    } else {
      const { what } = held;
      held = null;
      choose(grip(what).getAttribute("href"), what);
    }
  };
  addEventListener("pointerup", drop);
  addEventListener("pointercancel", drop);

  // One finger on a thing moves it; two fingers, and one beside it, move the page.
  addEventListener("touchstart", (event) => {
    if (event.touches.length === 1 && event.target.closest?.("#wall a.grip")) event.preventDefault();
  }, { passive: false });

  addEventListener("dragstart", (event) => event.target.closest?.("#wall a.grip") && event.preventDefault());

  addEventListener("click", (event) => {
    const link = event.target.closest?.("#wall a.grip, #wall a[data-choose]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) {
      if (placing && !event.target.closest("a") && event.target.closest?.("#wall svg")) put(event);
      return;
    }
    event.preventDefault();
    // A click by a pointer has been answered; one by the keyboard has no place.
    if (link.matches(".grip")) {
      if (event.detail === 0) choose(link.getAttribute("href"), link.dataset.what);
      return;
    }
    choose(link.getAttribute("href"));
  });

  // Arrow keys: one inch or centimetre, with shift six of them.
  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  addEventListener("keydown", (event) => {
    const one = event.target.closest?.("#wall a.grip");
    const way = ARROWS[event.key];
    if (!one || !way || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    if (!held || held.what !== one.dataset.what) hold(one);
    const step = +place().dataset.mark * (event.shiftKey ? 6 : 1);
    move(held.to.map((value, axis) => value + way[axis] * step));
    look(true, held.what);
  });

  // A length that is typed shows what it means at once.
  addEventListener("change", (event) => {
    const form = event.target.closest?.("#wall form[data-place]");
    if (!form || !event.target.matches("input")) return;
    const body = new URLSearchParams(new FormData(form));
    body.set("do", "look");
    body.set("part", "1");
    held = null;
    wanted = { fields: body, done: true };
    ask();
  });

  // A new thing is put where the wall is tapped.
  let placing = false;
  const ready = () => {
    const form = place().querySelector("form[data-add]");
    placing = Boolean(form && form.elements.kind.value && !form.elements.along.value);
    const hint = form?.querySelector("[data-tap]");
    if (hint) hint.hidden = !placing;
    place().classList.toggle("placing", placing);
  };
  addEventListener("input", (event) => event.target.closest?.("#wall form[data-add]") && ready());
  const put = (event) => {
    const form = place().querySelector("form[data-add]");
    const point = document.createElement("input");
    const what = document.createElement("input");
    Object.assign(point, { type: "hidden", name: "point", value: metres(event).join(" ") });
    Object.assign(what, { type: "hidden", name: "do", value: "add" });
    form.append(point, what);
    form.submit();
  };

  addEventListener("submit", (event) => {
    const form = event.target.closest?.("#wall form[data-place]");
    if (!form || event.submitter?.value !== "look") return;
    event.preventDefault();
    const body = new URLSearchParams(new FormData(form, event.submitter));
    body.set("part", "1");
    held = null;
    wanted = { fields: body, done: true };
    ask();
  });
})();
