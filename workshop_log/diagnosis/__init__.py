"""What is still possible: suspects, what a test could have seen, the next test, what being wrong would cost.

Pure: values in, values out.
"""
