"""The pages, one folder an area: addresses, views, words, templates."""
