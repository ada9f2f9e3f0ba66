// Keeps the initials that were typed in this browser, so that they need not be typed again.
const KEPT = 'benchhand-by';
for (const field of document.querySelectorAll('input[name="by"]')) {
  if (field.value === '') field.value = localStorage.getItem(KEPT) ?? '';
  field.addEventListener('change', () => localStorage.setItem(KEPT, field.value.trim()));
}
