"""One camera, one question: the answers that panels, figures and pages show."""
