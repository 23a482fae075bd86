// Starts the walk. If its code is broken, the worker is still asked for a mended one; what was entered lies untouched.
import { keepFresh } from './fresh.js';

keepFresh();
try {
  const { start } = await import('./opening.js');
  await start(document.getElementById('walk'));
} catch (fault) {
  console.error(fault);
  document.getElementById('walk').textContent =
    'The page could not start. What was entered is kept on this device; open the page again when there is a network.';
}
