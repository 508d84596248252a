"""Retouch: batches of picks sent out, returned files checked and accepted, and the cost of it.

Begin with `send_batch.send_batch` and `receive_batch.receive_batch`; see README.md beside this file.
"""
