// Starts everything a page needs beyond plain forms and links. Each part works without the others.
import { keepTime } from './time.js';
import { keepHonest } from './honest.js';
import { keepOutbox } from './outbox.js';
import { follow } from './live.js';
import { keepAwake } from './awake.js';
import { keepPlan } from './plan.js';
import { keepPhotos } from './photo.js';

keepTime();
keepHonest();
keepOutbox();
follow();
keepAwake();
keepPlan();
keepPhotos();

const digest = import.meta.url.match(/\/assets\/([^/]+)\//)?.[1];
if (isSecureContext && 'serviceWorker' in navigator && digest) {
  navigator.serviceWorker.register(`/service-worker.js?assets=${digest}`).catch(() => {});
}
