// What Streamlit leaves undone: the language of the page and of its buttons for files; for those who don't see it, which
// row is the way about and where one stands in it; and the focus, which falls out of the page wherever a tap draws
// another one.
const MARK = "[data-here]", STOPPED = "[data-testid=stApp][data-test-script-state=notRunning]";
let shown = "", due = false, waiting = false;

function tell() {
  due = false;
  const mark = document.querySelector(MARK);
  if (!mark) return;
  const { here, step, language, ways, files } = mark.dataset;
  document.documentElement.lang = language;
  const row = document.querySelector(".st-key-way, .st-key-steps");
  if (row) {
    row.setAttribute("role", "navigation");
    row.setAttribute("aria-label", ways);
  }
  for (const box of document.querySelectorAll("[class*='st-key-go_']")) {
    const button = box.querySelector("button");
    if (!button) continue;
    if (box.classList.contains(`st-key-go_${here}`)) button.setAttribute("aria-current", "page");
    else button.removeAttribute("aria-current");
  }
  for (const box of document.querySelectorAll("[class*='st-key-step_']")) {
    const button = box.querySelector("button");
    if (box.classList.contains(`st-key-step_${step}`)) button?.setAttribute("aria-current", "step");
    else button?.removeAttribute("aria-current");
  }
  for (const button of document.querySelectorAll("[data-testid=stFileUploaderDropzone] button")) {
    button.setAttribute("aria-label", files); // page.css shows it instead of the framework's own word
  }
  // the menu's own button, where the page lies behind it
  const menu = document.querySelector(".st-key-way_more button"), near = row?.querySelector("[aria-current=page]");
  if (menu && !near) menu.setAttribute("aria-current", "true");
  else menu?.removeAttribute("aria-current");
  const now = `${here} ${step}`;
  if (shown && shown !== now) waiting = true;
  shown = now;
  if (waiting && document.querySelector(STOPPED)) begin();
}

// A new page or step begins at its top, and is read from its heading.
function begin() {
  const heading = document.querySelector("[data-testid=stMain] h1");
  if (!heading) return;
  waiting = false;
  const main = document.querySelector("[data-testid=stMain]");
  const inUse = document.activeElement?.matches("[data-testid=stMain] :is(input, textarea)");
  if (inUse) return;
  heading.tabIndex = -1;
  heading.focus({ preventScroll: true });
  main.scrollTo(0, 0);
}

new MutationObserver(() => {
  if (due) return;
  due = true;
  requestAnimationFrame(tell);
}).observe(document.body, {
  childList: true, subtree: true, attributes: true,
  attributeFilter: ["data-here", "data-step", "data-language", "data-test-script-state"],
});
tell();
