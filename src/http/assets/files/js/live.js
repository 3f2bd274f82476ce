// When something changes, the marked parts of this page are fetched again and put in place;
// focus, open details, what is being typed and the scroll stay as they are.
import { connection, judge } from './honest.js';
import { ring } from './ring.js';

let wanted = false;
let busy = false;
let last = Date.now();

// Two renderings of one state differ in the ids of their forms and in times: those do not count.
const plain = (element) => element.outerHTML
  .replace(/name="key" value="[^"]*"/g, '')
  .replace(/<time[^>]*>[^<]*<\/time>/g, '')
  .replace(/ (data-taken-back|open)(="")?/g, '');

function place(element) {
  if (!element) return null;
  if (element.id) return `#${CSS.escape(element.id)}`;
  const part = element.closest('[data-part]');
  if (!part) return null;
  const all = [...part.querySelectorAll('a,button,input,select,textarea,summary')];
  return { part: part.dataset.part, n: all.indexOf(element) };
}

function focusAgain(where) {
  if (!where) return;
  const element = typeof where === 'string'
    ? document.querySelector(where)
    : document.querySelector(`[data-part="${CSS.escape(where.part)}"]`)
      ?.querySelectorAll('a,button,input,select,textarea,summary')[where.n];
  element?.focus({ preventScroll: true });
}

function put(old, fresh) {
  if (plain(old) === plain(fresh)) return;
  // Somebody is filling in this very form: it stays until they have sent it.
  const active = document.activeElement;
  if (old.contains(active) && active.matches('input:not([type=radio]):not([type=checkbox]),textarea,select')) return;
  const where = old.contains(active) ? place(active) : null;
  const open = [...old.querySelectorAll('details')].map((d) => d.open);
  old.replaceWith(fresh);
  fresh.querySelectorAll('details').forEach((d, i) => { d.open = open[i] ?? d.open; });
  focusAgain(where);
}

/** Fetches this page again and puts every part that differs in place. */
export async function refresh() {
  if (busy) { wanted = true; return; }
  busy = true;
  try {
    const answer = await fetch(location.href, { headers: { Accept: 'text/html' }, cache: 'no-store' });
    if (answer.headers.get('x-from-store')) { connection('server', false); return; }
    if (!answer.ok || new URL(answer.url).pathname !== location.pathname) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), 'text/html');
    const parts = [...fresh.querySelectorAll('[data-part]')];
    // The whole of main is replaced only where its own parts are not the same ones.
    const names = (root) => [...root.querySelectorAll('main [data-part]')].map((p) => p.dataset.part).join();
    const same = names(fresh) === names(document);
    for (const part of parts) {
      if (part.dataset.part === 'main' && same && part.querySelector('[data-part]')) continue;
      if (!same && part.parentElement.closest('[data-part="main"]')) continue;
      const old = document.querySelector(`[data-part="${CSS.escape(part.dataset.part)}"]`);
      if (old) put(old, part);
    }
    document.title = fresh.title;
    document.body.dataset.seq = fresh.body.dataset.seq;
    last = Date.now();
    connection('server', true);
    judge();
    ring();
  } catch {
    connection('server', false);
  } finally {
    busy = false;
    if (wanted) { wanted = false; refresh(); }
  }
}

function listen(url, changed) {
  const stream = new EventSource(url);
  stream.onopen = () => { connection('server', true); };
  stream.onerror = () => {
    // Until it is there again nothing here is vouched for.
    connection('server', false);
    // The browser tries again by itself, except after an error page, a proxy's for one.
    if (stream.readyState === EventSource.CLOSED) setTimeout(listen, 10000, url, changed);
  };
  for (const name of ['message', 'change']) stream.addEventListener(name, changed);
}

export function follow() {
  ring();
  const url = document.body.dataset.stream;
  if (!url) return;
  let soon = 0;
  listen(url, () => {
    // Lines of one report come together: one fetch for all of them.
    clearTimeout(soon);
    soon = setTimeout(refresh, 150);
  });
  // What changes by time alone is asked for, and so is everything after a phone has slept.
  setInterval(() => { if (!document.hidden && Date.now() - last > 30000) refresh(); }, 5000);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) refresh(); });
  addEventListener('pageshow', (event) => { if (event.persisted) refresh(); });
}
