// Sound and vibration: only for a stop now and the own call, again until it is seen.

let context;
let timer;
const bare = document.title;

function sound() {
  navigator.vibrate?.([300, 150, 300]);
  try {
    context ??= new AudioContext();
    const tone = context.createOscillator();
    const loudness = context.createGain();
    tone.frequency.value = 880;
    loudness.gain.setValueAtTime(0.25, context.currentTime);
    loudness.gain.exponentialRampToValueAtTime(0.001, context.currentTime + 0.6);
    tone.connect(loudness).connect(context.destination);
    tone.start();
    tone.stop(context.currentTime + 0.6);
  } catch { /* Without a sound device the title and the banner remain. */ }
}

/** Looks whether anything here must be heard, and counts it in the title. */
export function ring() {
  const loud = document.querySelectorAll('.banner.stop, .everyone').length;
  const called = document.querySelectorAll('.callanswer').length;
  const count = loud + called;
  const title = document.title.replace(/^\(\d+\) /, '') || bare;
  document.title = count ? `(${count}) ${title}` : title;
  const what = count ? `${loud}/${called}/${[...document.querySelectorAll('.banner.stop b')].map((b) => b.textContent).join()}` : '';
  if (!what) { sessionStorage.removeItem('rung'); clearInterval(timer); timer = 0; return; }
  if (sessionStorage.getItem('seen') === what || timer) return;
  const seen = () => {
    sessionStorage.setItem('seen', what);
    clearInterval(timer);
    timer = 0;
    removeEventListener('pointerdown', seen);
    removeEventListener('keydown', seen);
  };
  addEventListener('pointerdown', seen);
  addEventListener('keydown', seen);
  sound();
  timer = setInterval(sound, 8000);
}
