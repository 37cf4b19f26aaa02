"""Mutation testing by hand: which small changes of a module does no test notice?"""
