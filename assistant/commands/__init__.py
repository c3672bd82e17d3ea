"""The commands beside the conversation, one module each: thin doors to what the layers below do."""
