"use strict";

/* Read before anything is drawn: the still picture, which costs a second where it is crowded, stays undrawn on a screen. */
document.documentElement.classList.add("live");
