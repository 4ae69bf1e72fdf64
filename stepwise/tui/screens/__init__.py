"""The screens and dialogs, each with its style sheet beside it."""
