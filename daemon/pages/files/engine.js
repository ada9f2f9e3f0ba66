// Shows figures and drawing as the form is filled in: the form is sent as its button "Show what this
// gives" sends it, and what came back takes the place of what stood there.
const form = document.getElementById('engine');
const text = document.getElementById('text');
let waiting = 0;
let asked = 0;

const values = () => new URLSearchParams(new FormData(form));

async function show() {
  const mine = ++asked;
  const sent = values();
  sent.set('do', 'show');
  let answer;
  try {
    answer = await fetch(form.action, { method: 'POST', body: sent });
  } catch {
    return; // The button says so when the daemon is gone.
  }
  // Only what was asked last is shown.
  if (mine !== asked || !answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
  if (mine !== asked) return;
  take(page, sent);
}

const lines = (typed) => typed.replaceAll('\r\n', '\n');
const names = (fields) => [...fields.elements].map((field) => field.name).join();

function take(page, sent) {
  const others = page.getElementById('engine');
  document.getElementById('shown').replaceWith(page.getElementById('shown'));
  for (const fault of form.querySelectorAll('.fault')) {
    fault.textContent = page.getElementById(fault.id)?.textContent ?? '';
    // A fault is seen where its group is closed.
    const closed = fault.textContent.trim() && fault.closest('details:not([open])');
    if (closed) closed.open = true;
  }
  for (const summary of form.querySelectorAll('details.group > summary')) {
    summary.querySelector('.help').textContent = page.querySelector(`#${summary.id} .help`)?.textContent ?? '';
  }
  // The fields of the heads follow the banks.
  const [cards, theirs] = [form, others].map((one) => one.querySelector('details.group:last-of-type fieldset'));
  if (names(cards) !== names(theirs) && !cards.contains(document.activeElement)) cards.replaceWith(theirs);
  // Text that was typed meanwhile is not lost: the next sending counts from the same base again.
  const typedOn = lines(text.value) !== lines(sent.get('text'));
  if (!typedOn) text.value = others.elements.namedItem('text').value;
  for (const field of form.elements) {
    const other = field.name && others.elements.namedItem(field.name);
    if (!other || ['key', 'do', 'text'].includes(field.name) || (field.name === 'base' && typedOn)) continue;
    if (other.hasAttribute('aria-invalid')) field.setAttribute('aria-invalid', 'true');
    else field.removeAttribute('aria-invalid');
    // What was typed meanwhile stays, and counts as a change from the text that was sent.
    const untouched = field.type === 'hidden' || field.value === sent.get(field.name);
    if (untouched && field !== document.activeElement && field.value !== other.value) field.value = other.value;
  }
}

form.addEventListener('input', (event) => {
  if (event.target.id === 'file' || event.target.id === 'job') return;
  clearTimeout(waiting);
  waiting = setTimeout(show, 250);
});

// A file is read here, so that the form stays one that every browser can send.
document.getElementById('import').hidden = false;
document.getElementById('file').addEventListener('change', async (event) => {
  const file = event.target.files[0];
  if (!file) return;
  text.value = await file.text();
  show();
});
