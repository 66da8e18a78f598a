// Keeps an open page up to date over the event stream. Every page can be read, and outages
// acknowledged, without it.
"use strict";

const remember = (box) => {
  box.checked = localStorage.getItem(box.id) === "yes";
  box.addEventListener("change", () => localStorage.setItem(box.id, box.checked ? "yes" : "no"));
};

/** The element that a piece of our own HTML describes; made inert, so nothing in it can run. */
const element = (html) => new DOMParser().parseFromString(html, "text/html").body.firstElementChild;

/** Puts `fresh` in place of the element with the same identifier, and the focus back where it was. */
const replace = (fresh) => {
  const old = document.getElementById(fresh.id);
  if (!old) return;
  const focused = old.contains(document.activeElement) ? document.activeElement : null;
  const key = (node) => node.getAttribute("href") || node.getAttribute("aria-label") || node.textContent;
  old.replaceWith(document.adoptNode(fresh));
  if (!focused) return;
  const again = [...fresh.querySelectorAll("a, button, summary")].find((node) => key(node) === key(focused));
  (again || fresh.querySelector("a, button, summary"))?.focus();
};

const sound = () => {
  const audio = new AudioContext();
  const tone = audio.createOscillator();
  const volume = audio.createGain();
  volume.gain.value = 0.15;
  tone.frequency.value = 660;
  tone.connect(volume).connect(audio.destination);
  tone.start();
  tone.stop(audio.currentTime + 0.8);
  tone.addEventListener("ended", () => audio.close());
};

/** Whether one who may act at these sites ("*": at all) is offered this form. */
const mayAct = (may, form) => {
  const own = may.split(" ");
  return own.includes("*") || form.dataset.sites.split(" ").some((site) => site && own.includes(site));
};

const listen = () => {
  const line = document.getElementById("line");
  const news = document.getElementById("news");
  const token = news.dataset.formToken;
  /** A page on a wall leads nowhere. */
  const onWall = (fresh) => {
    if (news.dataset.stream.startsWith("/wall/")) {
      fresh.querySelectorAll("a").forEach((link) => link.removeAttribute("href"));
    }
  };
  const stream = new EventSource(news.dataset.stream + "?after=" + encodeURIComponent(news.dataset.seen));
  stream.addEventListener("window", (event) => {
    const fresh = element("<ul>" + event.data + "</ul>").firstElementChild;
    const wasUnlit = !document.getElementById(fresh.id)?.classList.contains("fast");
    if (wasUnlit && fresh.classList.contains("fast") && document.getElementById("horn").checked) sound();
    onWall(fresh);
    replace(fresh);
  });
  stream.addEventListener("news", (event) => {
    const fresh = element(event.data);
    // What goes to every page holds no form token; each page has its own.
    for (const field of fresh.querySelectorAll("[name=form_token]")) field.value = token;
    for (const form of fresh.querySelectorAll("form")) if (!mayAct(news.dataset.may, form)) form.remove();
    Object.assign(fresh.dataset, news.dataset);
    onWall(fresh);
    document.title = line.textContent = fresh.querySelector("h1").textContent;
    replace(fresh);
  });
  stream.addEventListener("reload", () => location.reload());
  stream.addEventListener("open", () => { line.textContent = ""; });
  stream.addEventListener("error", () => {
    line.textContent = "The watcher cannot be reached; what you see may be old.";
    // The browser does not come back by itself after a refusal, such as at the end of a session.
    if (stream.readyState === EventSource.CLOSED) setTimeout(() => location.reload(), 10000);
  });
};

/** The clocks of a page without the event stream go on from its own address, once a minute. */
const goOn = async () => {
  if (document.hidden) return;
  const answer = await fetch(location.href).catch(() => null);
  if (!answer || !answer.ok || answer.redirected) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const clocks of fresh.querySelectorAll(".time-left")) {
    const old = document.getElementById(clocks.id);
    if (!old) continue;
    clocks.querySelector("details").open = old.querySelector("details").open;
    replace(clocks);
  }
};

document.documentElement.classList.add("scripted");
for (const id of ["hold-lamps", "horn"]) {
  const box = document.getElementById(id);
  if (box) remember(box);
}
if (document.getElementById("news")) listen();
if (document.querySelector(".time-left")) setInterval(goOn, 60000);
