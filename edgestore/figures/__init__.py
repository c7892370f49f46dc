"""Results drawn with matplotlib, one question a module. They know nothing of widgets."""
