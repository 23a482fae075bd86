// The worker keeps the client's files on the device, so that the page opens without a network; here it is registered,
// and replaced as soon as the server has newer files. Plain http in a workshop's network has no worker: then an open
// page goes on, but can't be opened anew.
let registration = null;
let reloading = false;

export const canStayOpen = () => 'serviceWorker' in navigator;

export async function keepFresh() {
  if (!canStayOpen()) return;
  let controlled = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    if (controlled && !reloading) {
      reloading = true;
      location.reload();
    }
    controlled = true; // the first worker of all takes over a page that is as new as itself
  });
  registration = await navigator.serviceWorker.register('sw.js', { scope: './' }).catch(() => null);
}

export async function readyOffline() {
  if (!canStayOpen()) return false;
  const found = registration ?? (await navigator.serviceWorker.getRegistration('./'));
  return Boolean(found?.active);
}

// Answers with the version of the files that this page was made from.
export const ownVersion = () => fetch('version').then(answer => answer.text()).catch(() => '');

export const lookForNewer = () => registration?.update().catch(() => null);
