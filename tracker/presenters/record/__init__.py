"""The record of one rug."""
