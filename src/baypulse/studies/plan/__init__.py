"""The ground-test plan: a ladder of charges, what each will do, what it proves."""
