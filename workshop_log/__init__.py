r"""The logbook that works with a vehicle-electrics technician while they test.

The packages, and what may know what (arrows go down only):

    desktop   commands          the window; the terminal
       \        /
        jobs ── paper ── delivery   what a person does; the report (made from what jobs gives); print and email
         |  \     |
       book  diagnosis          the database; what is still possible
         |      |
     exchange electrics         the job file; circuits
            \   |
           measuring            quantities, instruments, verdicts
"""

__version__ = "0.1.0"
