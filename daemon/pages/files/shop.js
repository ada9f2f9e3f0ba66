// Keeps what comes from other stations of the shop up to date. Without it a page shows what was so when
// it was loaded.

const LOOK_MS = 2000;

/** Takes what lives on this page anew from the daemon; where a person is reading on, it stays. */
async function renew() {
  const response = await fetch(location.href, { cache: 'no-store', credentials: 'same-origin' });
  if (!response.ok) return;
  const page = new DOMParser().parseFromString(await response.text(), 'text/html');
  for (const id of ['shop', 'shop-jobs']) {
    const [here, there] = [document.getElementById(id), page.getElementById(id)];
    const same = here && there && here.innerHTML === there.innerHTML;
    if (here && there && !same && !here.contains(document.activeElement)) here.replaceWith(there);
  }
}

async function follow() {
  // A daemon that is away is asked again at the next turn.
  if (document.visibilityState === 'visible') await renew().catch(() => {});
  setTimeout(follow, LOOK_MS);
}

if (document.getElementById('shop')) setTimeout(follow, LOOK_MS);
