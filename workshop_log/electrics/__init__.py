"""What a circuit shows at each of its points: elements, setups and their electrical behaviour.

Pure: values in, values out. The job file carries circuits (`exchange.records.Circuit`);
what they show when healthy or faulty is computed here and nowhere else.
"""
