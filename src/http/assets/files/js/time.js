// Ages, countdowns and the hall's clock, true by the server's clock rather than the phone's.

const offset = Date.parse(document.body.dataset.now) - Date.now();

/** Now, by the server's clock as it was when this page was made. */
export const now = () => Date.now() + offset;

export function span(ms) {
  const minutes = Math.floor(ms / 60000);
  if (minutes < 1) return 'now';
  if (minutes < 90) return `${minutes} min`;
  if (minutes < 1440) return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
  return `${Math.floor(minutes / 1440)} d`;
}

export function left(ms) {
  if (ms > 0) return `in ${span(Math.ceil(ms / 60000) * 60000)}`;
  return ms > -60000 ? 'now' : `${span(-ms)} ago`;
}

function set(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function tick() {
  const at = now();
  for (const e of document.querySelectorAll('time[data-age]')) set(e, span(at - Date.parse(e.dateTime)));
  for (const e of document.querySelectorAll('time[data-left]')) set(e, left(Date.parse(e.dateTime) - at));
  for (const e of document.querySelectorAll('rect[data-until]')) {
    const from = Date.parse(e.dataset.from);
    const used = (at - from) / (Date.parse(e.dataset.until) - from);
    e.setAttribute('width', `${Math.round(Math.min(1, Math.max(0, used)) * 100)}%`);
  }
}

export function keepTime() {
  tick();
  setInterval(tick, 1000);
}
