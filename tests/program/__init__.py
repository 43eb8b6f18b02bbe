"""The whole program from outside: its command lines, the processes it starts, the files and pages it writes."""
