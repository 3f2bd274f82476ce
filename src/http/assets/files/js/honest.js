// Nothing claims "made safe" past its limit or without the server: the page says so by itself.
import { now } from './time.js';

const lost = new Set();

/** Takes "made safe" back in one place, in words, sign and colour. */
function takeBack(place, reason) {
  if (place.dataset.takenBack !== undefined) return;
  place.dataset.takenBack = '';
  place.classList.replace('safe', 'unproved');
  for (const use of place.querySelectorAll('use')) {
    if (/^#s-safe/.test(use.getAttribute('href'))) {
      use.setAttribute('href', '#s-unproved');
      const sign = use.closest('svg');
      if (sign.hasAttribute('aria-label')) sign.setAttribute('aria-label', 'Unproved');
    }
  }
  for (const word of place.querySelectorAll('[data-word]')) word.textContent = 'Unproved';
  for (const why of place.querySelectorAll('[data-reason]')) why.textContent = reason;
  for (const till of place.querySelectorAll('.till')) till.textContent = '';
}

function judge() {
  for (const place of document.querySelectorAll('[data-claims]')) {
    if (lost.size) takeBack(place, 'No connection, so nobody knows. Treat as live.');
    else if (place.dataset.till && Date.parse(place.dataset.till) <= now()) {
      takeBack(place, 'The oldest sight is past its limit. Treat as live.');
    }
  }
}

/** Says that the server cannot be reached, for a reason of its own. */
export function connection(reason, up) {
  if (up) lost.delete(reason);
  else lost.add(reason);
  const bar = document.getElementById('link-state');
  bar.hidden = !lost.size;
  if (lost.size && !bar.textContent) {
    const since = new Date().toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
    bar.textContent = `No connection since ${since}. What stands here may be old: treat as live. Entries are kept and sent later.`;
  }
  if (!lost.size) bar.textContent = '';
  judge();
}

export function keepHonest() {
  // A page from the phone's own store, or an event page that never hears from the server, is old.
  if (!navigator.onLine) connection('network', false);
  addEventListener('online', () => connection('network', true));
  addEventListener('offline', () => connection('network', false));
  judge();
  setInterval(judge, 1000);
}

export { judge };
