// A link plan has to be readable without a signal, also by whoever never opened it: a page that leads
// to one has it kept by the service worker.

const FRESH_MS = 5 * 60 * 1000;

function read(url) {
  const key = `plan ${url}`;
  if (Date.now() - Number(sessionStorage.getItem(key)) < FRESH_MS) return;
  fetch(url, { headers: { accept: 'text/html' } })
    .then((answer) => { if (answer.ok && !answer.headers.get('x-from-store')) sessionStorage.setItem(key, String(Date.now())); })
    .catch(() => {});
}

export function keepPlan() {
  const plan = document.querySelector('a[href$="/plan"]');
  if (plan && navigator.serviceWorker?.controller) read(plan.href);
}
