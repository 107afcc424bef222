// Slips are made a few in a request: goes on by itself until all are, so that the bar moves; without it there is the button.

document.querySelector("form[data-go-on]")?.requestSubmit();
