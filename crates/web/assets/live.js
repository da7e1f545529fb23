// What an answer would change is shown before it is kept. Without this script everything works by
// the buttons; nothing is kept here.
"use strict";
(() => {
  const form = document.querySelector("form[data-live]");
  const follows = document.getElementById("follows");
  if (!form || !follows) return;
  let asked = 0;
  let again = 0;

  const look = async () => {
    const mine = ++asked;
    const fields = new URLSearchParams(new FormData(form));
    fields.set("look", "1");
    let page;
    try {
      const answer = await fetch(form.action, { method: "POST", body: fields });
      if (!answer.ok) return;
      page = new DOMParser().parseFromString(await answer.text(), "text/html");
    } catch {
      return; // The button still works, and says what is wrong.
    }
    if (mine !== asked) return;
    const next = page.getElementById("follows");
    if (next && next.textContent !== follows.textContent) {
      follows.replaceChildren(...next.childNodes);
      follows.classList.add("changed");
      setTimeout(() => follows.classList.remove("changed"), 900);
    }
    later();
    for (const place of form.querySelectorAll("[data-error-for]")) {
      const id = place.dataset.errorFor;
      const wrong = page.querySelector(`[data-error-for="${CSS.escape(id)}"]`);
      if (!wrong) continue;
      place.replaceChildren(...wrong.childNodes);
      const field = document.getElementById(id);
      if (!field) continue;
      if (place.textContent.trim()) field.setAttribute("aria-invalid", "true");
      else field.removeAttribute("aria-invalid");
    }
  };

  // What takes longer is shown when it is there.
  const later = () => {
    if (!follows.querySelector("[data-again]") || again > 20) return;
    again += 1;
    const mine = asked;
    setTimeout(() => mine === asked && look(), 150 * again);
  };

  form.addEventListener("change", () => {
    again = 0;
    look();
  });
  later();
})();
