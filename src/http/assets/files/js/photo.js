// A photograph is made small on the phone and sent as soon as it is taken.

/** At most 1600 dots a side, as JPEG; as it is where the browser cannot. */
export async function shrunk(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: 'from-image' });
    const scale = Math.min(1, 1600 / Math.max(picture.width, picture.height));
    const canvas = document.createElement('canvas');
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext('2d').drawImage(picture, 0, 0, canvas.width, canvas.height);
    const small = await new Promise((done) => { canvas.toBlob(done, 'image/jpeg', 0.8); });
    return small && small.size < file.size ? small : file;
  } catch {
    return file;
  }
}

export function keepPhotos() {
  document.addEventListener('change', ({ target }) => {
    if (!target.matches('input[data-photo]') || !target.files.length) return;
    target.form.requestSubmit();
    // It is on its way, or kept to be sent: the next one starts afresh.
    target.value = '';
  });
}
