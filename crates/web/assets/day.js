// The set-up day: a needle on the scale while a number is typed, photos made smaller before they are
// sent, the clock of the place. Without this script everything works; every number and word that is
// shown comes with the page.
"use strict";
(() => {
  for (const zone of document.querySelectorAll("[data-zone]")) {
    zone.value = -new Date().getTimezoneOffset();
  }

  // Places the needle where the typed number lies, in the unit beside it.
  for (const entry of document.querySelectorAll("[data-entry]")) {
    const form = entry.closest("form");
    const scale = form.querySelector("[data-scale]");
    const words = form.querySelector("[data-reached]");
    if (!scale || !words) continue;
    const needle = scale.querySelector("[data-needle]");
    const number = (name) => Number(scale.dataset[name]);
    const look = () => {
      const typed = form.elements.value.value.trim().replace("−", "-").replace(",", ".");
      const unit = form.elements.unit.selectedOptions[0];
      let value = typed === "" ? NaN : Number(typed) * Number(unit.dataset.factor);
      if (form.elements.minus?.checked && !/^[-+]/.test(typed)) value = -value;
      needle.classList.toggle("shown", Number.isFinite(value));
      if (!Number.isFinite(value)) {
        words.textContent = "";
        return;
      }
      const part = (value - number("low")) / (number("high") - number("low"));
      const at = 10 + 320 * Math.min(Math.max(part, 0), 1);
      needle.setAttribute("transform", `translate(${at.toFixed(1)} 0)`);
      const off = value - number("aim");
      const near = Math.abs(off) <= number("band");
      const { inside, below, above } = scale.dataset;
      let text = near ? inside : off < 0 ? below : above;
      if (!near && "turn" in scale.dataset) {
        text += `${Math.round(Math.abs((100 * off) / number("aim")))} % to go.`;
      }
      if (words.textContent !== text) words.textContent = text;
    };
    form.addEventListener("input", look);
    look();
  }

  // A photo of a phone is larger than what is looked at: it is drawn smaller before it is sent. What
  // the browser cannot read is sent as it is.
  const LARGEST_FILE = 40e6;
  const EDGE = 1600;
  const smaller = async (file) => {
    if (!/^image\/(jpeg|png|webp|hei[cf])$/.test(file.type) || file.size > LARGEST_FILE) return null;
    let picture;
    try {
      picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const part = Math.min(1, EDGE / Math.max(picture.width, picture.height));
      if (part === 1 && file.size < 500e3) return null;
      const canvas = document.createElement("canvas");
      canvas.width = Math.max(1, Math.round(picture.width * part));
      canvas.height = Math.max(1, Math.round(picture.height * part));
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.82));
      canvas.width = canvas.height = 0;
      return blob && blob.size < file.size ? new File([blob], "photo.jpg", { type: "image/jpeg" }) : null;
    } catch {
      return null;
    } finally {
      picture?.close();
    }
  };
  for (const field of document.querySelectorAll('input[type="file"][name="photo"]')) {
    let busy = null;
    field.addEventListener("change", () => {
      const file = field.files[0];
      if (!file) return;
      busy = smaller(file).then((small) => {
        busy = null;
        if (!small || field.files[0] !== file) return;
        const files = new DataTransfer();
        files.items.add(small);
        field.files = files.files;
      });
    });
    field.form.addEventListener("submit", (event) => {
      if (!busy) return;
      event.preventDefault();
      const { submitter } = event;
      busy.then(() => field.form.requestSubmit(submitter));
    });
  }

  // A second tap must not send the same thing twice.
  for (const form of document.querySelectorAll("main form")) {
    let sent = false;
    form.addEventListener("submit", (event) => {
      if (event.defaultPrevented) return;
      if (sent) event.preventDefault();
      sent = true;
    });
    addEventListener("pageshow", () => (sent = false));
  }
})();
