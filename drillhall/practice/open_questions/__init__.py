"""Open questions: one picture a day that anybody with the link may name; knows nobody who answers."""
