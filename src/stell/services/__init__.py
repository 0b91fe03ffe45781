"""Use cases: what a person does with stell, each in one transaction."""
