// Keeps what comes from other stations of the shop up to date. Without it a page shows what was so when
// it was loaded.

const LOOK_MS = 2000;

/** Makes one part of the page what another says, and leaves alone what is the same in both: what a person
 * reads on, has marked or has come to by the keyboard stays where it is. */
function renewPart(here, there) {
  if (here.isEqualNode(there)) return;
  const [inside, to] = [[...here.childNodes], [...there.childNodes]];
  const alike = here.cloneNode(false).isEqualNode(there.cloneNode(false));
  if (alike && inside.length > 0 && inside.length === to.length) {
    inside.forEach((part, at) => renewPart(part, to[at]));
  } else if (here.nodeType === Node.TEXT_NODE && there.nodeType === Node.TEXT_NODE) {
    here.nodeValue = there.nodeValue;
  } else {
    here.replaceWith(there);
  }
}

/** Takes what lives on this page anew from the daemon. */
async function renew() {
  const response = await fetch(location.href, { cache: 'no-store', credentials: 'same-origin' });
  if (!response.ok) return;
  const page = new DOMParser().parseFromString(await response.text(), 'text/html');
  for (const id of ['shop', 'shop-jobs']) {
    const [here, there] = [document.getElementById(id), page.getElementById(id)];
    if (here && there) renewPart(here, there);
  }
}

async function follow() {
  // A daemon that is away is asked again at the next turn.
  if (document.visibilityState === 'visible') await renew().catch(() => {});
  setTimeout(follow, LOOK_MS);
}

if (document.getElementById('shop')) setTimeout(follow, LOOK_MS);
