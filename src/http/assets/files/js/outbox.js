// What somebody enters is first kept on the phone, then sent, in order, until the server has it.
// The ids of the lines ride in the form, so that what is sent twice is recorded once.
import { connection } from './honest.js';
import { refresh } from './live.js';
import { shrunk } from './photo.js';

const store = () => new Promise((resolve, reject) => {
  const opening = indexedDB.open('linkout', 1);
  opening.onupgradeneeded = () => opening.result.createObjectStore('outbox', { keyPath: 'n', autoIncrement: true });
  opening.onsuccess = () => resolve(opening.result);
  opening.onerror = () => reject(opening.error);
});

async function inStore(mode, work) {
  const db = await store();
  try {
    return await new Promise((resolve, reject) => {
      const doing = db.transaction('outbox', mode);
      const asked = work(doing.objectStore('outbox'));
      doing.oncomplete = () => resolve(asked.result);
      doing.onerror = doing.onabort = () => reject(doing.error);
    });
  } finally {
    db.close();
  }
}

const waiting = () => inStore('readonly', (box) => box.getAll());
const keep = (item) => inStore('readwrite', (box) => box.add(item));
const forget = (n) => inStore('readwrite', (box) => box.delete(n));

/** A UUIDv7 (RFC 9562): the moment, then chance; the last 16 bits are left to the lines of a form. */
function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  const ms = Date.now();
  for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(ms / 2 ** (40 - 8 * i)) & 0xff;
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  bytes[14] = 0;
  bytes[15] = 0;
  const hex = [...bytes].map((b) => b.toString(16).padStart(2, '0')).join('');
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, '$1-$2-$3-$4-');
}

async function show() {
  const box = document.getElementById('outbox');
  const items = await waiting();
  box.hidden = !items.length;
  box.replaceChildren();
  if (!items.length) return items;
  const head = document.createElement('h2');
  head.textContent = `Not sent yet: ${items.length}`;
  const list = document.createElement('ul');
  for (const item of items) {
    const row = document.createElement('li');
    const at = new Date(item.at).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
    const other = item.me !== document.body.dataset.me ? `, waits until ${item.name} is signed in again` : '';
    row.textContent = `${at} ${item.label}${item.refused ? `. Not taken: ${item.refused}` : other}`;
    if (item.refused) {
      const drop = document.createElement('button');
      drop.className = 'btn small soft';
      drop.textContent = 'I have read it';
      drop.onclick = async () => { await forget(item.n); show(); };
      row.append(drop);
    }
    list.append(row);
  }
  box.append(head, list);
  return items;
}

async function post(item) {
  const body = item.fields.some(([, value]) => value instanceof Blob) ? new FormData() : new URLSearchParams();
  for (const [name, value] of item.fields) body.append(name, value);
  body.set('at', new Date(item.at).toISOString());
  body.set('sent_at', new Date().toISOString());
  return fetch(item.action, { method: 'POST', body, headers: { Accept: 'text/html' }, signal: AbortSignal.timeout(20000) });
}

let sending = false;

/** Sends what waits, in order. Answers where the last one led, or nothing if it still waits. */
async function send() {
  if (sending) return undefined;
  sending = true;
  let led;
  try {
    for (const item of await waiting()) {
      if (item.refused || item.me !== document.body.dataset.me) continue;
      const answer = await post(item);
      if (answer.ok) {
        led = answer.url;
        await forget(item.n);
      } else if (answer.status === 401 || answer.status === 429 || answer.status >= 500) {
        // Not heard, or not now: it stays, and so does everything behind it.
        break;
      } else {
        const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
        const why = page.querySelector('[role=alert], .joinhead p, .fault')?.textContent.trim();
        await inStore('readwrite', (box) => box.put({ ...item, refused: why || `the service answered ${answer.status}` }));
        led = { refused: item, page };
      }
      connection('server', true);
    }
  } catch {
    connection('server', false);
  } finally {
    sending = false;
    await show();
  }
  return led;
}

// The answer to a refused form is shown in place, with what was typed and what is wrong beside it.
function showRefusal(page) {
  for (const kind of ['main', 'form.sheetform']) {
    const fresh = page.querySelector(kind);
    const old = document.querySelector(kind);
    if (fresh && old) { old.replaceWith(fresh); page.querySelector('[autofocus]'); }
  }
  document.querySelector('.faults, .fault')?.scrollIntoView({ block: 'center' });
  document.querySelector('.faults')?.focus();
}

async function submitted(event) {
  const form = event.target;
  if (!form.matches('form[data-outbox]') || !('indexedDB' in window)) return;
  const button = event.submitter;
  const data = new FormData(form, button);
  // A PIN is kept on no phone: the browser sends the form itself, now or not at all.
  if (data.get('pin')) return;
  event.preventDefault();
  if (form.dataset.busy !== undefined) return;
  form.dataset.busy = '';
  const item = {
    action: form.action,
    fields: await Promise.all([...data].map(async ([name, value]) => [name, value instanceof File ? await shrunk(value) : value])),
    at: Date.now(),
    me: document.body.dataset.me,
    name: document.querySelector('.me b')?.textContent.trim() || 'the same person',
    label: [document.querySelector('h1')?.textContent, button?.ariaLabel || button?.firstChild?.textContent || 'entry'].join(': '),
  };
  try {
    await keep(item);
  } catch {
    // No store on this phone: the browser sends the form itself.
    delete form.dataset.busy;
    if (button?.name) form.append(Object.assign(document.createElement('input'), { type: 'hidden', name: button.name, value: button.value }));
    form.submit();
    return;
  }
  // The same page may be used again before it is made anew: its next entry is another one.
  form.querySelector('input[name=key]').value = newKey();
  const led = await send();
  delete form.dataset.busy;
  if (typeof led === 'string') {
    if (led.split('#')[0] === location.href.split('#')[0]) { if (location.hash) location.hash = ''; await refresh(); } else location.assign(led);
  } else if (led?.refused) {
    for (const left of await waiting()) if (left.refused && left.n === led.refused.n) await forget(left.n);
    await show();
    showRefusal(led.page);
  } else if (form.matches('.sheetform')) {
    // Kept, not sent: back to where the sheet was opened, which says so.
    const back = document.querySelector('.top .me')?.href;
    if (back) location.assign(back);
  }
}

export function keepOutbox() {
  if (!('indexedDB' in window)) return;
  document.addEventListener('submit', submitted);
  const again = async () => { if ((await waiting()).some((item) => !item.refused)) { const led = await send(); if (typeof led === 'string') refresh(); } };
  show().then(again);
  setInterval(again, 7000);
  addEventListener('online', again);
}
