// Asks how far a planner has come and opens the plan when it is done.
const EVERY_MS = 1500;

function show(box, answer) {
  box.querySelector("progress").value = answer.progress;
  box.querySelector("[data-state]").textContent = answer.state;
  box.querySelector("[data-percent]").textContent = answer.progress;
}

async function ask(box) {
  const answer = await fetch(box.dataset.progress, { cache: "no-store" });
  if (!answer.ok) {
    throw new Error(String(answer.status));
  }
  return answer.json();
}

async function follow(box) {
  try {
    const answer = await ask(box);
    if (!answer.waiting) {
      window.location.reload();
      return;
    }
    show(box, answer);
  } catch {
    // The line may be down for a while on a building site: keep asking.
  }
  setTimeout(follow, EVERY_MS, box);
}

for (const box of document.querySelectorAll("[data-progress]")) {
  setTimeout(follow, EVERY_MS, box);
}
