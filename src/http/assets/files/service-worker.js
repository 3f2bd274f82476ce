// Keeps assets and opened pages, so that they can be read without the server. It answers from the
// server first; what comes from the store says so, and the page then vouches for nothing.

const digest = new URL(self.location).searchParams.get('assets');
const kept = `linkout-${digest}`;

self.addEventListener('install', () => self.skipWaiting());

self.addEventListener('activate', (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith('linkout-') && name !== kept && !name.endsWith('pages')) await caches.delete(name);
    await self.clients.claim();
  })());
});

async function asset(request) {
  const store = await caches.open(kept);
  const had = await store.match(request);
  if (had) return had;
  const answer = await fetch(request);
  if (answer.ok) await store.put(request, answer.clone());
  return answer;
}

async function page(request) {
  const store = await caches.open('linkout-pages');
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) await store.put(request.url, answer.clone());
    // Whoever signs out or is signed out takes nothing with them.
    if (answer.status === 401 || answer.status === 403) await caches.delete('linkout-pages');
    return answer;
  } catch (gone) {
    const had = await store.match(request.url);
    if (!had) throw gone;
    const headers = new Headers(had.headers);
    headers.set('x-from-store', 'yes');
    return new Response(had.body, { status: had.status, headers });
  }
}

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin) return;
  if (url.pathname.startsWith('/assets/')) event.respondWith(asset(request));
  else if (url.pathname.startsWith('/e/') && (request.headers.get('accept') || '').includes('text/html')) event.respondWith(page(request));
});
