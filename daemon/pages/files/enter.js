// Sends the code that stands behind `#` in the address. A browser does not send that part itself,
// so that no log and no preview has it.
const code = location.hash.slice(1);
if (code) {
  history.replaceState(null, '', location.pathname + location.search);
  document.getElementById('code').value = code;
  document.getElementById('enter').submit();
}
