"""What published guides ask of a procedure carried out by computer, shown on the program as it runs.

They come from nuclear, aviation, space and pharmaceutical work; none binds a workshop. Each test names the
document and, where it is known, the section, and how far that may be trusted:

    S   the text was read
    S2  the text was read only as other publications quote it
    M   from memory, to be held against the document before anybody cites it

The letter and number in a test's name say what it is about: A authoring, B before step 1, C the current step,
G gate and second looks, V values, T what is put off or timed, I interruption, D departures and corrections,
L the log, R the end and the review, H the screen. What a guide asks of the people around the program, or of a
later part of it, has no test here.
"""
