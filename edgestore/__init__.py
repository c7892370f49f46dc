"""Choose, justify and look after the memory card that lets a network camera record on its own."""
