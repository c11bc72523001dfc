"""One function per thing the cook does; the only place that joins the store and the computing."""
