"""The local app: the car on one page, in a browser on this machine or a phone in the garage."""
