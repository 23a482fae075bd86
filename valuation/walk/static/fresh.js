// The worker keeps the client's files on the device. Plain http has none: an open page goes on, but can't be reopened.
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
