"""The pages: choose, fetch, call, show. No science and no SQL here."""
