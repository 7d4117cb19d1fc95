"""The room for people at work: a watcher that judges on every save and shows the page
(`watch`), and a language server that judges while they type (`editor`)."""
