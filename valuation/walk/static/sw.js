// `CLIENT`, the version and the hash of every file, is put before this by the server.
const NAME = `walk-${CLIENT.version}`;

self.addEventListener('install', event => event.waitUntil((async () => {
  const cache = await caches.open(NAME);
  await Promise.all(Object.entries(CLIENT.files).map(async ([name, integrity]) => {
    // a half-deployed mix of old and new is refused here, and the old worker stays
    const answer = await fetch(new Request(name, { cache: 'reload', integrity }));
    if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
    await cache.put(name, answer);
  }));
  await self.skipWaiting();
})()));

self.addEventListener('activate', event => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith('walk-') && name !== NAME) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener('fetch', event => {
  const url = new URL(event.request.url);
  const name = url.href.split('#')[0].split('?')[0].replace(self.registration.scope, '') || 'index.html';
  if (name === 'version') event.respondWith(new Response(CLIENT.version));
  else if (event.request.method === 'GET' && name in CLIENT.files) {
    event.respondWith(caches.open(NAME).then(cache => cache.match(name)).then(kept => kept ?? fetch(event.request)));
  }
});
