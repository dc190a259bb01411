"""The ICAR Animal Data Exchange, an open JSON standard, read leniently."""
