// Renews the answer as the question's fields change. Without script the form is sent by its button.
const form = document.getElementById('question');
const answer = document.getElementById('answer');
const thickness = document.getElementById('thickness');
let asked = 0;
let waiting;

async function renew() {
  asked += 1;
  const mine = asked;
  const address = `${location.pathname}?${new URLSearchParams(new FormData(form))}`;
  const response = await fetch(address, { credentials: 'same-origin' });
  const page = new DOMParser().parseFromString(await response.text(), 'text/html');
  const found = page.getElementById('answer');
  // An answer that was overtaken by a later question is left.
  if (!found || mine !== asked) return;
  answer.replaceChildren(...found.childNodes);
  answer.dataset.asked = String(mine);
  history.replaceState(null, '', address);
}

form.addEventListener('input', () => {
  if (thickness) document.getElementById('thickness-now').textContent = Number(thickness.value).toFixed((thickness.step.split('.')[1] ?? '').length);
  clearTimeout(waiting);
  waiting = setTimeout(renew, 120);
});
