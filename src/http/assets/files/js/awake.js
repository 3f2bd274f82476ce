// Keeps the screen on while a page is looked at, where the browser allows it.

export function keepAwake() {
  if (!isSecureContext || !('wakeLock' in navigator) || !document.body.dataset.stream) return;
  const ask = () => { if (!document.hidden) navigator.wakeLock.request('screen').catch(() => {}); };
  document.addEventListener('visibilitychange', ask);
  addEventListener('pointerdown', ask, { once: true });
}
