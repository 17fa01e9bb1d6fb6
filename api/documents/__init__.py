"""The JSON documents that come in and go out, the same for files and for REST."""
