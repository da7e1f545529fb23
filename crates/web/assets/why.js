// A figure explains itself where it stands: its page is shown in a dialog. Without this script the
// figure leads to the page.
"use strict";
(() => {
  let dialog = null;
  const show = async (address) => {
    let page;
    try {
      const answer = await fetch(address);
      if (!answer.ok) throw new Error(answer.status);
      page = new DOMParser().parseFromString(await answer.text(), "text/html");
    } catch {
      location.assign(address);
      return;
    }
    const article = page.querySelector("article.why");
    if (!article) return location.assign(address);
    if (!dialog) {
      dialog = document.createElement("dialog");
      dialog.className = "whydialog";
      document.body.append(dialog);
      dialog.addEventListener("click", (event) => {
        if (event.target === dialog) dialog.close();
      });
    }
    const close = document.createElement("form");
    close.method = "dialog";
    close.innerHTML = "";
    const button = document.createElement("button");
    button.textContent = "Close";
    close.append(button);
    dialog.replaceChildren(article, close);
    const heading = article.querySelector("h1");
    heading.id = "why-title";
    dialog.setAttribute("aria-labelledby", "why-title");
    if (!dialog.open) dialog.showModal();
    dialog.scrollTop = 0;
  };
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a.figure");
    if (!link || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey) return;
    event.preventDefault();
    show(typeof link.href === "string" ? link.href : link.href.baseVal);
  });
})();
