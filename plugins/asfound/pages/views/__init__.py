"""Views: what each kind of page says, as frozen values ready for the templates."""
