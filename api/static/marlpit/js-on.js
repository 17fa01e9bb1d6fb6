// Parts of the pages that only scripts can fill stay hidden until this has run.
document.documentElement.classList.add("js");
